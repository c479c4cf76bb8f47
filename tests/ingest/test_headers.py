"""Headers as recorders write them."""

import pytest

from shiftlog.ingest.headers import recognise_header


@pytest.mark.parametrize(
    ("header", "channels", "unit"),
    [
        ("select [count]", ("select",), "count"),
        ("Engine RPM [RPM]", ("engine_speed",), "RPM"),
        ("rpm", ("engine_speed",), "rpm"),
        ("Vehicle Speed Sensor [km/h]", ("vehicle_speed",), "km/h"),
        ("gps_speed_ms", ("vehicle_speed",), "m/s"),
        ("gps_speed_kmh", ("vehicle_speed",), "kmh"),
        ("Velocity (m/s)", ("vehicle_speed",), "m/s"),
        ("speed", ("vehicle_speed",), None),
        ("timestamp_ms", ("time",), "ms"),
        ("Time (s)", ("time",), "s"),
        ("millis", ("time",), "ms"),
        ("micros", ("time",), "us"),
        ("Time", ("time",), None),
        ("X (m/s^2)", ("accel_x",), "m/s^2"),
        ("Y (rad/s)", ("gyro_y",), "rad/s"),
        ("Z", ("accel_z", "gyro_z"), None),
        ("ax_g", ("accel_x",), "g"),
        ("gx_dps", ("gyro_x",), "dps"),
        ("gx [g]", ("accel_x",), "g"),
        ("accX", ("accel_x",), None),
        ("Accelerometer Y (g)", ("accel_y",), "g"),
        ("yawrate", ("gyro_z",), None),
        ("Roll Rate [deg/s]", ("gyro_x",), "deg/s"),
        ("lat", ("latitude",), None),
        ("Longitude (°)", ("longitude",), "°"),
        ("Ambient Air Temperature [Â°C]", ("ambient",), "Â°C"),
        ("Absolute Throttle Position [%]", ("throttle",), "%"),
        ("Gearbox Oil Temperature [°C]", ("gearbox_temp",), "°C"),
        ("Oil Temp [degF]", ("oil_temp",), "degF"),
        ("clutch", ("clutch",), None),
    ],
)
def test_a_header_is_recognised(header: str, channels: tuple[str, ...], unit: str | None) -> None:
    guess = recognise_header(header)
    assert (guess.channels, guess.unit, guess.misfit) == (channels, unit, False)


@pytest.mark.parametrize(
    "header",
    [
        "Engine Coolant Temperature [°C]",
        "Intake Manifold Absolute Pressure [kPa]",
        "Height (m)",
        "Direction (°)",
        "roll",
        "yaw",
        "temp",
        "satellites_used",
        "dist_to_start_finish_m",
        "adc0",
        "Accelerator Pedal Position D [%]",
        "",
    ],
)
def test_what_is_no_channel_is_none(header: str) -> None:
    assert recognise_header(header).channels == ()


@pytest.mark.parametrize("header", ["tps_v", "Brake Pressure [bar]", "clutch [mm]"])
def test_a_channel_in_a_unit_it_cannot_take(header: str) -> None:
    assert recognise_header(header).misfit
