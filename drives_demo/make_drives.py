"""Make the demo's drives, into ``drives_demo/drives`` or a folder: ``python drives_demo/make_drives.py [FOLDER]``."""

import sys
from pathlib import Path

from shiftlog.synth.demo import make_demo

HERE = Path(__file__).resolve().parent


def main() -> None:
    """Write the six drives and name their folders."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "drives"
    for written in make_demo(folder, progress=print):
        print(written)


if __name__ == "__main__":
    main()
