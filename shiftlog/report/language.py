"""The words and numbers of one language, from its one file."""

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files

from shiftlog.errors import StoreError
from shiftlog.model.told import Told
from shiftlog.units import MPS_PER_KMH, MPS_PER_MPH

THIN = "\N{NO-BREAK SPACE}"
PROGRAM = "en"
"""The language in which other rooms write their sentences."""
KMH, MPH = "km/h", "mph"
KM_PER_MILE = MPS_PER_MPH / MPS_PER_KMH
_UNITS = {"rpm": "rpm", "ms per 1,000 rpm": "ms_per_krpm"}
"""Units that are words, by their key in the files of languages."""


def languages() -> tuple[str, ...]:
    """Codes of the languages there are, ``en`` first."""
    folder = files("shiftlog.report").joinpath("languages")
    codes = sorted(entry.name.removesuffix(".toml") for entry in folder.iterdir() if entry.name.endswith(".toml"))
    return tuple(sorted(codes, key=lambda code: (code != "en", code)))


@dataclass(frozen=True, eq=False, kw_only=True)
class Language:
    """texts : by key, ``section.key``"""

    code: str
    texts: Mapping[str, str]

    def say(self, key: str, **values: object) -> str:
        """A text with its places filled."""
        return self.texts[key].format(**values)

    def tell(self, told: str) -> str:
        """A sentence of another room in this language, by its key; what has no key is only named as such.

        English is the language of the program, and says it with all its particulars.
        """
        if self.code == PROGRAM:
            return str(told)
        if not isinstance(told, Told) or told.key not in self.texts:
            return self.say("told.unknown")
        return self.say(told.key, **{name: self._place(value) for name, value in told.values.items()})

    def _place(self, value: object) -> object:
        if isinstance(value, Told):
            return self.tell(value)
        if isinstance(value, tuple):
            return ", ".join(str(self._place(one)) for one in value)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.number(value, digits=9, places=0) if float(value).is_integer() else self.number(value)
        return value

    def knows(self, key: str) -> bool:
        """Whether there is such a text."""
        return key in self.texts

    def number(self, value: float, *, digits: int = 3, places: int = 4) -> str:
        """A number with so many significant digits and places at most, the language's marks and a true minus sign."""
        if value == 0 or not math.isfinite(value):
            return "0"
        wanted = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
        text = f"{value:,.{min(wanted, places)}f}"
        marks = str.maketrans({",": self.texts["number.thousands"], ".": self.texts["number.decimal"], "-": "−"})
        return "0" if not text.strip("-0.") else text.translate(marks)

    def figure(self, value: float, unit: str) -> str:
        """A number with its unit."""
        unit = self.unit(unit)
        text = self.number(value, places=3 if unit == "s" else 4)
        return f"{text}{THIN}{unit}" if unit else text

    def unit(self, unit: str) -> str:
        """A unit as this language writes it; most are the same in all."""
        return self.texts.get(f"unit.{_UNITS[unit]}", unit) if unit in _UNITS else unit.replace("^1.75", "¹·⁷⁵")

    def as_typed(self, value: float) -> str:
        """A number with the digits somebody typed, and the language's marks."""
        marks = str.maketrans({".": self.texts["number.decimal"], "-": "−"})
        return f"{value:.12g}".translate(marks)

    def per_cent(self, share: float) -> str:
        """A share in whole per cent; small ones with one digit after the point."""
        value = 100 * share
        text = self.number(value, digits=9, places=1 if value < 2 else 0)
        return self.say("number.per_cent", value=text).replace(" ", THIN)

    def listed(self, parts: Sequence[str]) -> str:
        """a, b and c."""
        if len(parts) < 2:
            return "".join(parts)
        return ", ".join(parts[:-1]) + self.texts["number.list_end"] + parts[-1]

    def day(self, iso: str) -> str:
        """The day of an ISO 8601 time; as it is where it is none."""
        try:
            when = datetime.fromisoformat(iso)
        except ValueError:
            return iso
        return self.say("number.date", day=when.day, month=when.month, year=when.year)

    def distance(self, km: float, speed: str) -> str:
        """A distance in the unit that goes with the unit of speed."""
        miles = speed == MPH
        value = km / KM_PER_MILE if miles else km
        return f"{self.number(value, digits=9, places=0)}{THIN}{self.say('unit.miles' if miles else 'unit.km')}"


@cache
def load_language(code: str) -> Language:
    """A language by its code. StoreError where there is none."""
    if code not in languages():
        raise StoreError(f"language {code}: is not there; choose {', '.join(languages())}")
    text = files("shiftlog.report").joinpath("languages", f"{code}.toml").read_text(encoding="utf-8")
    plain = tomllib.loads(text)
    return Language(code=code, texts=dict(_flat(plain)))


def _flat(plain: Mapping[str, object], above: str = "") -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    for key, value in plain.items():
        pairs += _flat(value, f"{above}{key}.") if isinstance(value, Mapping) else [(f"{above}{key}", str(value))]
    return pairs
