"""Frozen dataclasses back from plain JSON data, by their own annotations."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints


def built(wanted: Any, plain: Any) -> Any:
    """What `dataclasses.asdict` and JSON have made plain, as it was.

    wanted: a dataclass, an enum, a tuple type, an optional one or a plain type. Raises KeyError, TypeError or
    ValueError where the data do not have that form.
    """
    if is_dataclass(wanted) and isinstance(wanted, type):
        if not isinstance(plain, dict):
            raise TypeError(f"{plain!r} is no {wanted.__name__}")
        hints = _hints(wanted)
        names = {field.name for field in fields(wanted)}
        if not set(plain) <= names:
            raise KeyError(*(set(plain) - names))
        return wanted(**{name: built(hints[name], value) for name, value in plain.items()})
    origin, inner = get_origin(wanted), get_args(wanted)
    if origin is tuple:
        if not isinstance(plain, list | tuple):
            raise TypeError(f"{plain!r} is no list")
        each = [inner[0]] * len(plain) if inner[-1] is Ellipsis else inner
        return tuple(built(one, value) for one, value in zip(each, plain, strict=True))
    if origin in (Union, UnionType):
        return None if plain is None else built(next(one for one in inner if one is not NoneType), plain)
    if isinstance(wanted, type) and issubclass(wanted, Enum):
        return wanted(plain)
    if wanted is float and isinstance(plain, int) and not isinstance(plain, bool):
        return float(plain)
    if not isinstance(plain, wanted):
        raise TypeError(f"{plain!r} is no {wanted.__name__}")
    return plain


@cache
def _hints(wanted: type) -> dict[str, Any]:
    return get_type_hints(wanted)
