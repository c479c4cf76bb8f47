"""A profile is corrected in place: one number, and every other byte as it was."""

import tomllib
from pathlib import Path

import pytest

from shiftlog.cables.correct_profile import correct_profile
from shiftlog.errors import ProfileError

PLAIN = """# my car
format = 1

[cables]  # both by hand
end = "turn"
  engage_mm_per_turn   =  1.25   # measured once
"select_mm_per_turn" = 1
# engage_mm_per_turn = 9
note = "engage_mm_per_turn = 7"

[limits]
clearance_mm = 1.5
"""


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_only_the_numbers_change(tmp_path: Path, end: str) -> None:
    path = tmp_path / "car.toml"
    old = PLAIN.replace("\n", end).encode()
    path.write_bytes(old)
    correct_profile(path, {"engage_mm_per_turn": 1.432, "select_mm_per_turn": 0.91})
    new = old.replace(b"=  1.25   #", b"=  1.432   #").replace(
        b'turn" = 1' + end.encode(), b'turn" = 0.91' + end.encode()
    )
    assert path.read_bytes() == new
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    "text",
    [
        "format = 1\n[cables]\nend = 'turn'\n",
        "format = 1\n[cables]",
        "format = 1\n",
        "format = 1",
        "format = 1\ncables = { end = 'turn', engage_mm_per_turn = 1.0 }  # short\n",
        "cables.engage_mm_per_turn = 1e0\nformat = 1\n",
    ],
)
def test_every_way_to_write_the_table(tmp_path: Path, text: str) -> None:
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    correct_profile(path, {"engage_mm_per_turn": 1.5})
    old, new = tomllib.loads(text), tomllib.loads(path.read_text(encoding="utf-8"))
    assert new == old | {"cables": old.get("cables", {}) | {"engage_mm_per_turn": 1.5}}


@pytest.mark.parametrize(
    "text",
    ["cables = { end = 'turn' }\n", 'cables = "none"\n', 'x = """\n[cables]\nengage_mm_per_turn = 1\n"""\n[cables]\n'],
)
def test_what_cannot_be_corrected_safely_is_left_alone_and_said(tmp_path: Path, text: str) -> None:
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProfileError, match="set engage_mm_per_turn = 1.5 by hand"):
        correct_profile(path, {"engage_mm_per_turn": 1.5})
    assert path.read_text(encoding="utf-8") == text


def test_a_file_that_is_no_profile_is_named(tmp_path: Path) -> None:
    with pytest.raises(ProfileError, match="give the car.toml"):
        correct_profile(tmp_path / "missing.toml", {"engage_mm_per_turn": 1.5})
