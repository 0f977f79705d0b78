"""Case files with slips: a good text changed at random, as a tree or letter by letter."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import Any

import numpy as np

Place = tuple[Any, Any]

#: what one unit makes of a number meant in another
FACTORS = (
    1 / 0.0254, 1 / 0.3048, 1000.0, 100.0, 10.0, 60.0, 3600.0, 8760.0, 1.8, 0.0254, 0.3048, 1e-3, 0.01, -1.0, 0.0,
)  # fmt: skip
#: values of any type, likely and unlikely
ODD: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 7, 70, 10**9, -(10**30), 10**400, 0.0, -0.0, 0.5, 1e-300, 1e300, float("inf"),
    float("nan"), "", " ", "8 in", "8", "R-10", "70 degF", "75 %", "2 ft 6 in", "1e400 m", "9**9**9 m", "1 m**9**9",
    "-0 m", "nan", "inf m", "8 in in", "1/0 in", "60 grain/lb", "− 8 in", "８ in", "0,2 m", "1e9999999 m", "m", "1 kg",
    "x" * 100_000, "1" * 10_000, "[", "none", "house", "outdoors", "concrete_wc050", "default", "\x00", "\u202e8 in",
    [], [0], [0, 1], [[0, 1]], [[]], {}, {"a": {}}, {"winter": 1, "summer": "8 in"},
    {"kind": "uniform", "low": 0, "high": 1}, {"day": [[0, 20], [12, "70 degF"]]}, date(2001, 12, 1), datetime(1, 1, 1),
    datetime(9999, 12, 31, 23, 59, 59),
)  # fmt: skip


def written(value: Any) -> str:
    """Return a value as TOML on one line; what TOML does not know (none) as an empty string."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(str(key))} = {written(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(written, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime | date):
        return value.isoformat() if value.year > 999 else f"{value.isoformat():0>10}"
    if isinstance(value, int | float):
        return repr(value) if isinstance(value, float) else str(value)
    return json.dumps("" if value is None else value).replace("\x7f", "\\u007f")


def text_of(tree: dict[str, Any]) -> str:
    """Return a tree as a TOML text, one line for each table of the first level."""
    return "".join(f"{json.dumps(str(key))} = {written(value)}\n" for key, value in tree.items())


def places(tree: Any) -> Iterator[Place]:
    """Yield (table or list, key or number) of everything in a tree."""
    pairs: Any = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in list(pairs):
        yield tree, key
        if isinstance(value, dict | list):
            yield from places(value)


def _one(items: Any, draw: np.random.Generator) -> Any:
    found = list(items)
    return found[int(draw.integers(len(found)))]


def _delete(tree: dict[str, Any], draw: np.random.Generator) -> None:
    table, key = _one(places(tree), draw)
    del table[key]


def _retype(tree: dict[str, Any], draw: np.random.Generator) -> None:
    table, key = _one(places(tree), draw)
    table[key] = copy.deepcopy(_one(ODD, draw))


def _rescale(tree: dict[str, Any], draw: np.random.Generator) -> None:
    found = [(at, at[0][at[1]]) for at in places(tree)]
    numbers = [at for at, value in found if isinstance(value, int | float) and not isinstance(value, bool)]
    texts = [at for at, value in found if isinstance(value, str) and value[:1].isdigit()]
    table, key = _one(numbers + texts, draw)
    factor, value = _one(FACTORS, draw), table[key]
    if isinstance(value, str):
        number, _, unit = value.partition(" ")
        table[key] = f"{float(number) * factor:g} {unit}" if number.replace(".", "").isdigit() else value[::-1]
    else:
        table[key] = value * factor


def _duplicate(tree: dict[str, Any], draw: np.random.Generator) -> None:
    table, key = _one(places(tree), draw)
    if isinstance(table, list):
        table.insert(0, copy.deepcopy(table[key]))
    else:
        table[_one([f"{key}x", str(key).upper(), "", "x.y", "outdoors"], draw)] = copy.deepcopy(table[key])


def _move(tree: dict[str, Any], draw: np.random.Generator) -> None:
    """Put a value where another stands."""
    table, key = _one(places(tree), draw)
    other, name = _one(places(tree), draw)
    table[key] = copy.deepcopy(other[name])


def _deepen(tree: dict[str, Any], draw: np.random.Generator) -> None:
    """Wrap a value in lists or tables, few or many."""
    table, key = _one(places(tree), draw)
    as_list = draw.random() < 0.5
    for _ in range(int(_one((1, 3, 20, 150), draw))):
        table[key] = [table[key]] if as_list else {"a": table[key]}


TREE: tuple[Callable[[dict[str, Any], np.random.Generator], None], ...] = (
    _delete, _retype, _rescale, _duplicate, _move, _deepen,
)  # fmt: skip


def _flip(data: bytearray, draw: np.random.Generator) -> None:
    for _ in range(int(draw.integers(1, 6))):
        data[int(draw.integers(len(data)))] = int(draw.integers(256))


def _splice(data: bytearray, draw: np.random.Generator) -> None:
    a, b = sorted(draw.integers(len(data), size=2))
    at = int(draw.integers(len(data)))
    data[at:at] = data[a:b]


def _cut(data: bytearray, draw: np.random.Generator) -> None:
    a, b = sorted(draw.integers(len(data), size=2))
    del data[a:b]


def _nest(data: bytearray, draw: np.random.Generator) -> None:
    marks, deep = _one([(b"[", b"]"), (b"{a=", b"}"), (b"a.", b"")], draw), int(_one((10, 300, 3000, 30000), draw))
    data += b"\nzz = " + marks[0] * deep + marks[1] * deep if marks[1] else b"\n" + marks[0] * deep + b"a = 1\n"


def _line(data: bytearray, draw: np.random.Generator) -> None:
    """Take lines out, double or swap them."""
    lines = bytes(data).split(b"\n")
    a, b = (int(number) for number in draw.integers(len(lines), size=2))
    what = int(draw.integers(3))
    if what == 0:
        del lines[a]
    elif what == 1:
        lines.insert(b, lines[a])
    else:
        lines[a], lines[b] = lines[b], lines[a]
    data[:] = b"\n".join(lines)


TEXT: tuple[Callable[[bytearray, np.random.Generator], None], ...] = (_flip, _splice, _cut, _nest, _line)


def mutated(text: str, draw: np.random.Generator) -> bytes:
    """Return a case text with one to three changes, or with changed bytes."""
    if draw.random() < 0.3:
        data = bytearray(text.encode())
        _one(TEXT, draw)(data, draw)
        return bytes(data)
    tree = tomllib.loads(text)
    for _ in range(int(draw.integers(1, 4))):
        if not tree:
            break
        _one(TREE, draw)(tree, draw)
    return text_of(tree).encode("utf-8", "surrogatepass")
