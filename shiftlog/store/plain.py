"""Dataclasses to plain JSON values and back, by their own fields and types.

A ``Shape`` says where a document differs from the dataclass; everything else follows from the fields.
"""

import math
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

from shiftlog.errors import StoreError


@dataclass(frozen=True, eq=False, kw_only=True)
class Shape:
    """How the document of a dataclass differs from it.

    names : field → key; pairs : field that is a tuple of pairs → the two keys of each pair
    spread : fields whose own fields stand in the parent's object
    own : fields that ``write`` and ``read`` deal with: object → keys to add, (object, where) → field values
    """

    names: Mapping[str, str] = field(default_factory=dict)
    pairs: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    spread: tuple[str, ...] = ()
    own: tuple[str, ...] = ()
    write: Callable[[Any], dict] | None = None
    read: Callable[[Mapping, str], dict] | None = None


Shapes = Mapping[type, Shape]
_AS_IT_IS = Shape()


def to_plain(value: object, *, shapes: Shapes, where: str = "") -> Any:
    """A dataclass, array, mapping or tuple as JSON values. ValueError where a number is not finite."""
    if is_dataclass(value):
        return _object_to_plain(value, shapes=shapes, where=where)
    if isinstance(value, np.ndarray | np.generic):
        return to_plain(value.tolist(), shapes=shapes, where=where)
    if isinstance(value, Mapping):
        return {str(k): to_plain(v, shapes=shapes, where=f"{where}.{k}") for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [to_plain(v, shapes=shapes, where=f"{where}[{i}]") for i, v in enumerate(value)]
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{where.lstrip('.')}: {value} cannot be written")
    return value


def _object_to_plain(value: object, *, shapes: Shapes, where: str) -> dict:
    shape = shapes.get(type(value), _AS_IT_IS)
    plain: dict[str, Any] = {}
    for f in fields(value):
        if f.name in shape.own:
            continue
        key = shape.names.get(f.name, f.name)
        written = to_plain(getattr(value, f.name), shapes=shapes, where=f"{where}.{key}")
        if f.name in shape.spread:
            plain |= written
        elif f.name in shape.pairs:
            plain[key] = [dict(zip(shape.pairs[f.name], pair, strict=True)) for pair in written]
        else:
            plain[key] = written
    return plain | (shape.write(value) if shape.write else {})


def from_plain(kind: Any, plain: Any, *, shapes: Shapes, where: str = "") -> Any:
    """JSON values as ``kind``; keys nobody knows are passed over. StoreError names the place that is wrong."""
    if is_dataclass(kind):
        return _object_from_plain(kind, plain, shapes=shapes, where=where)
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        return _either_from_plain(get_args(kind), plain, shapes=shapes, where=where)
    if origin is tuple:
        return _tuple_from_plain(get_args(kind), plain, shapes=shapes, where=where)
    if origin is not None:
        _need(isinstance(plain, Mapping), "an object", plain, where)
        item = get_args(kind)[1]
        return {k: from_plain(item, v, shapes=shapes, where=f"{where}.{k}") for k, v in plain.items()}
    if kind is np.ndarray:
        return _array_from_plain(plain, where)
    return _scalar_from_plain(kind, plain, where)


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _object_from_plain(kind: type, plain: Any, *, shapes: Shapes, where: str) -> Any:
    _need(isinstance(plain, Mapping), "an object", plain, where)
    shape = shapes.get(kind, _AS_IT_IS)
    values = shape.read(plain, where) if shape.read else {}
    for f in fields(kind):
        key = shape.names.get(f.name, f.name)
        here = f"{where}.{key}"
        if f.name in shape.own:
            continue
        if f.name in shape.spread:
            values[f.name] = from_plain(_hints(kind)[f.name], plain, shapes=shapes, where=where)
        elif key in plain:
            written = _pairs(plain[key], shape.pairs[f.name], here) if f.name in shape.pairs else plain[key]
            values[f.name] = from_plain(_hints(kind)[f.name], written, shapes=shapes, where=here)
        elif f.default is MISSING and f.default_factory is MISSING:
            raise StoreError(f"{here.lstrip('.')}: is missing")
    return _build(kind, values, where)


def _build(kind: type, values: dict, where: str) -> Any:
    try:
        return kind(**values)
    except ValueError as error:
        raise StoreError(f"{where.lstrip('.') or 'document'}: {error}") from error


def _pairs(plain: Any, keys: tuple[str, str], where: str) -> list:
    _need(isinstance(plain, list), "a list", plain, where)
    for index, pair in enumerate(plain):
        good = isinstance(pair, Mapping) and all(key in pair for key in keys)
        _need(good, f"an object with {keys[0]} and {keys[1]}", pair, f"{where}[{index}]")
    return [[pair[key] for key in keys] for pair in plain]


def _either_from_plain(kinds: tuple, plain: Any, *, shapes: Shapes, where: str) -> Any:
    if plain is None and type(None) in kinds:
        return None
    kinds = tuple(kind for kind in kinds if kind is not type(None))
    for kind in kinds[:-1]:
        try:
            return from_plain(kind, plain, shapes=shapes, where=where)
        except StoreError:
            continue
    return from_plain(kinds[-1], plain, shapes=shapes, where=where)


def _tuple_from_plain(items: tuple, plain: Any, *, shapes: Shapes, where: str) -> tuple:
    _need(isinstance(plain, list), "a list", plain, where)
    if items[-1] is Ellipsis:
        items = items[:1] * len(plain)
    _need(len(items) == len(plain), f"a list of {len(items)}", plain, where)
    return tuple(
        from_plain(item, v, shapes=shapes, where=f"{where}[{i}]")
        for i, (item, v) in enumerate(zip(items, plain, strict=True))
    )


def _array_from_plain(plain: Any, where: str) -> np.ndarray:
    try:
        return np.array(plain, dtype=float)
    except (TypeError, ValueError) as error:
        raise StoreError(f"{where.lstrip('.')}: a list of numbers is needed") from error


def _scalar_from_plain(kind: Any, plain: Any, where: str) -> Any:
    number = isinstance(plain, int | float) and not isinstance(plain, bool)
    if kind is float:
        _need(number, "a number", plain, where)
        return float(plain)
    if kind is int:
        _need(number and float(plain).is_integer(), "a whole number", plain, where)
        return int(plain)
    if kind in (str, bool):
        _need(isinstance(plain, kind), "text" if kind is str else "true or false", plain, where)
    return plain


def _need(good: bool, what: str, got: Any, where: str) -> None:
    if not good:
        shown = repr(got) if len(repr(got)) <= 40 else repr(got)[:37] + "…"
        raise StoreError(f"{where.lstrip('.') or 'document'}: {what} is needed, not {shown}")
