"""Names of the parts of the pages that callbacks speak to."""

URL = "url"
PAGE = "page"
SHOWN = "shown"
SCHEME = "scheme"
CHANGED = "changed"
UNIT_KMH = "unit-kmh"
UNIT_MPH = "unit-mph"
UNIT_KEPT = "unit-kept"

FOLDER = "folder"
ADD_FOLDER = "add-folder"
ADD_ANSWER = "add-answer"
WORK = "work"
WORK_TICK = "work-tick"
WORK_SHOWN = "work-shown"
COMPARE = "compare"
COMPARE_ANSWER = "compare-answer"
SIDE = "side"

DRIVE = "drive-choice"
TRACES = "traces"
GATE = "gate"
WHOLE = "whole"
ZOOM_IN = "zoom-in"
ZOOM_OUT = "zoom-out"
EARLIER = "earlier"
LATER = "later"
MEASURE_DRIVE = "measure-drive"

SHIFT = "shift-choice"
SHIFT_TRACES = "shift-traces"
SHIFT_GATE = "shift-gate"
SHIFT_SOUND = "shift-sound"
SHIFT_SHOCK = "shift-shock"
SHIFT_SWING = "shift-swing"
SOUND_WORDS = "shift-sound-words"
PREVIOUS = "shift-previous"
NEXT = "shift-next"

NEUTRAL = "neutral-choice"
NEUTRAL_PICTURE = "neutral-picture"
NEUTRAL_SPEED = "neutral-speed"
NEUTRAL_REACH = "neutral-reach"

CABLES = "cables-choice"
CABLES_PICTURE = "cables-picture"
CABLES_SAID = "cables-said"
CABLE = "cable"
FOLLOWED = "followed"

SEATS = "seats-choice"
SEATS_MAP = "seats-map"

COMPARISON = "comparison-choice"
DISTRIBUTIONS = "distributions"

REPEATS = "repeats-choice"
REPEAT_GROUP = "repeat-group"
REPEAT_GO = "repeat-go"
REPEAT_ANSWER = "repeat-answer"
REPEAT_PICTURE = "repeat-picture"

CAR = "car-choice"
CAR_NAME = "car-name"
CAR_REDLINE = "car-redline"
CAR_PLANES = "car-planes"
CAR_LAYOUT = "car-layout"
CAR_HOME = "car-home"
CAR_FINAL = "car-final"
CAR_TYRE = "car-tyre"
CAR_RADIUS = "car-radius"
CAR_RATIO = "car-ratio"
CAR_SAVE = "car-save"
CAR_ANSWER = "car-answer"
CAR_PREVIEW = "car-preview"
CAR_LEARN = "car-learn"

IMPORT = "import-token"
IMPORT_CHOOSE = "import-choose"
IMPORT_PROGRESS = "import-progress"
IMPORT_FAULTS = "import-faults"
IMPORT_PATHS = "import-paths"
IMPORT_PATHS_GO = "import-paths-go"
IMPORT_ABOUT = "import-about"
IMPORT_READ = "import-read"
IMPORT_ADD = "import-add"
IMPORT_CLEAR = "import-clear"
IMPORT_ANSWER = "import-answer"
IMPORT_FILE = "import-file"
IMPORT_COLUMN = "import-column"
IMPORT_REMOVE = "import-remove"

PROMPTS = "prompts"
PROMPT_CONFIGURATION = "prompt-configuration"
PROMPT_MARKS = "prompt-marks"
JOB = "job-choice"
JOB_FIELD = "job-field"
JOB_CELL = "job-cell"
JOB_BY = "job-by"
JOB_SAVE = "job-save"
JOB_ANSWER = "job-answer"
JOB_PHOTO_OF = "job-photo-of"
JOB_PHOTO_CAPTION = "job-photo-caption"
JOB_NEW = "job-new"
JOB_NEW_CAR = "job-new-car"
JOB_NEW_COMPLAINT = "job-new-complaint"
JOB_NEW_ANSWER = "job-new-answer"
REPORT_LANGUAGE = "report-language"
REPORT_PLATE = "report-plate"
REPORT_SHOWN = "report-shown"
CARD_LANGUAGE = "card-language"
CARD_SIDE = "card-side"
CARD_SHOWN = "card-shown"

MARKS = "marks-choice"
MARKS_PICTURE = "marks-picture"
MARKS_TAP = "marks-tap"
MARKS_CLOSER = "marks-closer"
MARKS_WHOLE = "marks-whole"
MARK_KIND = "mark-kind"
MARK_START = "mark-start"
MARK_END = "mark-end"
MARK_CONFIGURATION = "mark-configuration"
MARK_WAITS = "mark-waits"
MARK_TEMPERATURE = "mark-temperature"
MARK_ADD = "mark-add"
MARK_ANSWER = "mark-answer"
MARK_REMOVE = "mark-remove"
REMOVE_ANSWER = "mark-remove-answer"
PASTE = "paste"
PASTE_FIRST = "paste-first"
PASTE_TAKE = "paste-take"
PASTE_ADD = "paste-add"
PASTE_ANSWER = "paste-answer"


def cable(name: str) -> dict[str, str]:
    """The slider of one cable, ``engage`` or ``select``."""
    return {"type": CABLE, "name": name}


def followed(name: str) -> dict[str, str]:
    """The field of what was done to one cable, ``engage`` or ``select``."""
    return {"type": FOLLOWED, "name": name}


def repeat_group(number: int) -> dict[str, str | int]:
    """The ticks of one stage and driver among the repeat drives."""
    return {"type": REPEAT_GROUP, "number": number}


def side(drive_id: str) -> dict[str, str]:
    """The choice of a drive as before or after."""
    return {"type": SIDE, "drive": drive_id}


def plane(index: int, end: str) -> dict[str, str | int]:
    """The gear at one end (``forward`` or ``rear``) of a plane in the form."""
    return {"type": CAR_PLANES, "plane": index, "end": end}


def ratio(gear: str) -> dict[str, str]:
    """The ratio of a gear in the form."""
    return {"type": CAR_RATIO, "gear": gear}


def about(what: str) -> dict[str, str]:
    """A field about a drive to be added: its name, stage, driver or car."""
    return {"type": IMPORT_ABOUT, "what": what}


def about_file(what: str, index: int) -> dict[str, str | int]:
    """A field about a file to be added: its place, clock, or the direction of a lever axis."""
    return {"type": IMPORT_FILE, "what": what, "file": index}


def about_column(what: str, index: int, column: int) -> dict[str, str | int]:
    """A field about a column of such a file: its channel or its unit."""
    return {"type": IMPORT_COLUMN, "what": what, "file": index, "column": column}


def remove(name: str) -> dict[str, str]:
    """The button that takes a file out again."""
    return {"type": IMPORT_REMOVE, "file": name}


def remove_mark(number: int) -> dict[str, str | int]:
    """The button that takes out the marked span of that number in the page's list."""
    return {"type": MARK_REMOVE, "number": number}


def job_field(key: str) -> dict[str, str]:
    """A field of a job's record."""
    return {"type": JOB_FIELD, "key": key}


def job_cell(key: str, row: int, column: int) -> dict[str, str | int]:
    """A cell of a table in a job's record."""
    return {"type": JOB_CELL, "key": key, "row": row, "column": column}
