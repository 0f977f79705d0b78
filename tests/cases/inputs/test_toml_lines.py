"""Line numbers of keys in TOML text."""

from __future__ import annotations

import pytest

from stemwall.cases.inputs.toml_lines import Places

TEXT = '''title = "a [b] # c"
[case]
text = """
[not.a.table]
key = 1
"""
inside = { depth = 1, "a.b" = 2 }
list = [
  1,
  2,
]
after = 3
[[region]]
name = "one"
[[region]]
name = "two"
[region.more]
x = 1
[detail."odd key"]
y = 2
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 1),
        (("case",), 2),
        (("case", "inside"), 7),
        (("case", "inside", "depth"), 7),
        (("case", "inside", "a.b"), 7),
        (("case", "after"), 12),
        (("region", 0, "name"), 14),
        (("region", 1, "name"), 16),
        (("region", 1, "more", "x"), 18),
        (("detail", "odd key", "y"), 20),
        (("region", 1, "missing"), 15),
        (("not", "a"), None),
    ],
)
def test_line(path: tuple[str | int, ...], line: int | None) -> None:
    assert Places(TEXT).line(path) == line
