"""Files that one phone wrote: the same name but for the sensor."""

import re
from pathlib import Path

_SENSOR = re.compile(
    r"[ _.-]*(accelerometer|acceleration|accel|gyroscope|gyro|location|gps|magnetometer|gravity)[ _.-]*",
    re.IGNORECASE,
)


def common_stems(logs: list[Path]) -> dict[Path, str]:
    """For each file that has a sibling from the same recording, the name they share; none for the others."""
    stems = {log: (log.parent, _SENSOR.sub("_", log.stem).strip("_")) for log in logs if _SENSOR.search(log.stem)}
    shared = [stem for stem in stems.values() if list(stems.values()).count(stem) > 1]
    return {log: stem[1] or "phone" for log, stem in stems.items() if stem in shared}
