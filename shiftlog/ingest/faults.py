"""All faults of a TOML file in one line, each with the path of its key."""

import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from shiftlog.errors import ProfileError


class Section(BaseModel):
    """A table of a TOML file: types are not bent, keys nobody knows are kept to be pointed out."""

    model_config = ConfigDict(extra="allow", strict=True, arbitrary_types_allowed=True)


S = TypeVar("S", bound=Section)


def load_toml(path: Path) -> dict[str, Any]:
    """The file's tables. ProfileError where it cannot be read or is no TOML."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        raise ProfileError(
            f"{path}: there is no such file; name a drive's folder with its drive.toml, or a profile that is there."
        ) from None
    except OSError as error:
        raise ProfileError(f"{path.name}: cannot be read ({error.strerror}).") from None
    except UnicodeDecodeError:
        raise ProfileError(f"{path.name}: is not UTF-8 text; save it as UTF-8.") from None
    except tomllib.TOMLDecodeError as error:
        raise ProfileError(f"{path.name}: is no valid TOML: {error}.") from None


def check_toml(model: type[S], tables: dict[str, Any], *, file: str) -> S:
    """The tables as ``model``. ProfileError that lists every fault with its key in one line."""
    try:
        return model.model_validate(tables)
    except ValidationError as error:
        faults = [_fault(item) for item in error.errors()]
        raise profile_error(file, faults) from None


def profile_error(file: str, faults: list[str]) -> ProfileError:
    """One error for any number of faults."""
    return ProfileError(f"{file}: " + "; ".join(dict.fromkeys(faults)) + ".")


def unknown_keys(section: Section, *, path: str = "") -> list[str]:
    """Paths of all keys in the file that the format does not have."""
    found = [path + key for key in (section.model_extra or {})]
    for name in type(section).model_fields:
        value = getattr(section, name)
        items = value if isinstance(value, (list, tuple)) else [value]
        for number, item in enumerate(items, start=1):
            if isinstance(item, Section):
                place = f"{path}{name}[{number}]." if isinstance(value, (list, tuple)) else f"{path}{name}."
                found += unknown_keys(item, path=place)
    return found


def _fault(item: Any) -> str:
    words = {"missing": "is missing", "extra_forbidden": "is not known"}
    where = _key_path(item["loc"])
    message = words.get(item["type"])
    if message is None:
        message = item["msg"].removeprefix("Value error, ")
        message = message[0].lower() + message[1:]
        if not item["type"].startswith("value_error"):
            message = f"{message}, got {item['input']!r}"
    return f"{where}: {message}" if message not in words.values() else f"{where} {message}"


def _key_path(loc: tuple[int | str, ...]) -> str:
    # Lists count from 1, as people do; the branches of a union are the checker's own and name no key.
    path = ""
    for part in loc:
        if isinstance(part, int):
            path += f"[{part + 1}]"
        elif not any(mark in part for mark in "[]()-") and part not in ("float", "str", "int", "bool"):
            path += f".{part}" if path else part
    return path
