"""A car's visit: the client's complaint, what was found and done, what was checked after, and who signed."""

from dataclasses import dataclass, field

REPRODUCED = ("yes", "no", "not tried")
TEMPERATURES = ("cold", "hot", "both")
DEPOSITS = ("none", "paste", "brass flakes", "steel chips")
CHECKED = ("yes", "no", "not checked")
SYMPTOMS = ("refuses", "grinds", "jumps out", "rests wrong", "knocks", "noise", "stiff")
SIDES = ("before", "after", "recheck")
"""The occasions on which a job's car is driven; each has its own drives."""
PHOTO_OF = ("oil", "plug", "strainer", "play", "part", "other")


@dataclass(frozen=True, kw_only=True)
class Play:
    """A play or wear that was measured. unit : as read off, ``mm`` or ``°``"""

    where: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part that was looked at, and what was seen of it."""

    part: str
    wear: str


@dataclass(frozen=True, kw_only=True)
class Replaced:
    """A part that was replaced. number : the part's own, or an empty text"""

    part: str
    number: str = ""


@dataclass(frozen=True, kw_only=True)
class Photo:
    """A photo of the job, by the fingerprint of the file the workshop keeps of it. of : one of ``PHOTO_OF``"""

    sha256: str
    of: str
    caption: str
    width: int
    height: int

    def __post_init__(self) -> None:
        if self.of not in PHOTO_OF:
            raise ValueError(f"photo of: {self.of!r} is none of {', '.join(PHOTO_OF)}")


@dataclass(frozen=True, kw_only=True)
class Job:
    """One visit, as it stands in one version. An empty text, tuple or None is what nobody has written yet.

    car : its name in the workshop; complaint : in the client's own words
    symptoms : what the complaint is about (``SYMPTOMS``); shifts : kinds of shift it names (``2-3``), or gears
    drives_before, drives_after, drives_recheck : ids of drives of the workshop
    checked_gears … checked_interlock : after the work (``CHECKED``)
    engage_turns, select_turns : turns of the cables' adjusters, + longer
    """

    car: str
    order: str = ""
    client: str = ""
    plate: str = ""
    vin: str = ""
    odometer_km: float | None = None
    complaint: str = ""
    symptoms: tuple[str, ...] = ()
    shifts: tuple[str, ...] = ()
    temperature: str = ""
    drives_before: tuple[str, ...] = ()
    reproduced: str = ""
    reproduced_notes: str = ""
    oil: str = ""
    plug: str = ""
    plug_notes: str = ""
    strainer: str = ""
    strainer_notes: str = ""
    play: tuple[Play, ...] = ()
    parts: tuple[Part, ...] = ()
    found: str = ""
    replaced: tuple[Replaced, ...] = ()
    engage_turns: float | None = None
    select_turns: float | None = None
    fluid: str = ""
    done: str = ""
    checked_gears: str = ""
    checked_neutral: str = ""
    checked_lockout: str = ""
    checked_lamp: str = ""
    checked_interlock: str = ""
    checked_notes: str = ""
    drives_after: tuple[str, ...] = ()
    recheck_km: float | None = None
    drives_recheck: tuple[str, ...] = ()
    recheck_notes: str = ""
    signed_by: str = ""
    signed_on: str = ""
    photos: tuple[Photo, ...] = ()

    def __post_init__(self) -> None:
        for one in FIELDS:
            value = getattr(self, one.key)
            given = value if isinstance(value, tuple) else (value,) if value else ()
            if one.choices and (wrong := [v for v in given if v not in one.choices]):
                raise ValueError(f"{one.key}: {wrong[0]!r} is none of {', '.join(one.choices)}")


@dataclass(frozen=True, kw_only=True)
class JobVersion:
    """A job as somebody saved it. saved : UTC, ISO 8601; sealed : whether it is still as it was saved"""

    id: int
    version: int
    saved: str
    by: str
    job: Job
    sealed: bool = True


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a job, for form, terminal and history alike.

    kind : ``text``, ``long``, ``number``, ``choice``, ``several``, ``shifts``, ``drives``, ``table``, ``date``
    columns : (name, label) of a table's columns; row : the class of its rows
    least, most : of a number; what lies beyond cannot be meant
    """

    key: str
    label: str
    group: str
    kind: str = "text"
    choices: tuple[str, ...] = ()
    unit: str = ""
    hint: str = ""
    columns: tuple[tuple[str, str], ...] = ()
    row: type | None = field(default=None)
    least: float = 0.0
    most: float = 3_000_000.0


CAR, COMPLAINT, BEFORE, FOUND, DONE, CHECKS, AFTER, SIGNED = (
    "The car", "The complaint", "Before the work", "What was found", "What was done", "Checked after the work",
    "After the work", "Sign-off",
)  # fmt: skip
GROUPS = (CAR, COMPLAINT, BEFORE, FOUND, DONE, CHECKS, AFTER, SIGNED)

TURNS = {"least": -50.0, "most": 50.0}
"""More thread than any adjuster has."""

FIELDS: tuple[Field, ...] = (
    Field(key="car", label="Car", group=CAR, hint="its name in the workshop"),
    Field(key="order", label="Order number", group=CAR),
    Field(key="client", label="Client", group=CAR),
    Field(key="plate", label="Plate", group=CAR, hint="masked in the report"),
    Field(key="vin", label="VIN", group=CAR, hint="masked in the report"),
    Field(key="odometer_km", label="Odometer", group=CAR, kind="number", unit="km"),
    Field(key="complaint", label="The client's own words", group=COMPLAINT, kind="long"),
    Field(key="symptoms", label="What it is about", group=COMPLAINT, kind="several", choices=SYMPTOMS),
    Field(key="shifts", label="Which shifts", group=COMPLAINT, kind="shifts", hint="2-3, 3-2, R"),
    Field(key="temperature", label="When", group=COMPLAINT, kind="choice", choices=TEMPERATURES),
    Field(key="drives_before", label="Drives before the work", group=BEFORE, kind="drives"),
    Field(key="reproduced", label="Complaint reproduced before", group=BEFORE, kind="choice", choices=REPRODUCED),
    Field(key="reproduced_notes", label="How", group=BEFORE, kind="long"),
    Field(key="oil", label="Drained oil", group=FOUND, kind="long", hint="amount, colour, smell"),
    Field(key="plug", label="Magnetic plug", group=FOUND, kind="choice", choices=DEPOSITS),
    Field(key="plug_notes", label="On the plug", group=FOUND),
    Field(key="strainer", label="Pump strainer", group=FOUND, kind="choice", choices=DEPOSITS),
    Field(key="strainer_notes", label="In the strainer", group=FOUND),
    Field(
        key="play", label="Measured play", group=FOUND, kind="table", row=Play,
        columns=(("where", "Where"), ("value", "Play"), ("unit", "Unit")),
    ),
    Field(
        key="parts", label="Parts and wear", group=FOUND, kind="table", row=Part,
        columns=(("part", "Part"), ("wear", "What was seen")),
    ),
    Field(key="found", label="Other findings", group=FOUND, kind="long"),
    Field(
        key="replaced", label="Parts replaced", group=DONE, kind="table", row=Replaced,
        columns=(("part", "Part"), ("number", "Part number")),
    ),
    Field(key="engage_turns", label="Engage cable", group=DONE, kind="number", unit="turns", hint="+ longer", **TURNS),
    Field(key="select_turns", label="Select cable", group=DONE, kind="number", unit="turns", hint="+ longer", **TURNS),
    Field(key="fluid", label="Fluid", group=DONE, hint="kind and amount"),
    Field(key="done", label="Other work", group=DONE, kind="long"),
    Field(key="checked_gears", label="Every gear in and out", group=CHECKS, kind="choice", choices=CHECKED),
    Field(key="checked_neutral", label="Neutral free", group=CHECKS, kind="choice", choices=CHECKED),
    Field(key="checked_lockout", label="Lock-out holds", group=CHECKS, kind="choice", choices=CHECKED),
    Field(key="checked_lamp", label="Reversing lamp", group=CHECKS, kind="choice", choices=CHECKED),
    Field(key="checked_interlock", label="Starter interlock", group=CHECKS, kind="choice", choices=CHECKED),
    Field(key="checked_notes", label="Notes on the checks", group=CHECKS, kind="long"),
    Field(key="drives_after", label="Drives after the work", group=AFTER, kind="drives"),
    Field(key="recheck_km", label="Recheck after", group=AFTER, kind="number", unit="km", least=1.0),
    Field(key="drives_recheck", label="Drives at the recheck", group=AFTER, kind="drives"),
    Field(key="recheck_notes", label="What the recheck gave", group=AFTER, kind="long"),
    Field(key="signed_by", label="Signed by", group=SIGNED),
    Field(key="signed_on", label="Signed on", group=SIGNED, kind="date", hint="2026-10-31"),
)  # fmt: skip
"""All fields that are typed; photos come in by themselves."""

FIELD_OF = {one.key: one for one in FIELDS}
