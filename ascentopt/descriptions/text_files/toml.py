"""A small writer of TOML: tables with a heading, short ones in one line."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

Table = Mapping[str, Any]
"""Keys with texts, numbers, truths, lists and tables of the like."""

WIDTH = 100
"""Columns of a line, beyond which a list is broken and a table gets a heading of its own."""

_BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


def toml_text(table: Table) -> str:
    """The table as TOML, in the order of its keys as far as TOML allows."""
    return "\n".join(_lines(table, "")).strip() + "\n"


def _lines(table: Table, heading: str) -> Iterator[str]:
    """Its plain keys first: TOML would take those below a heading for the heading's."""
    later: list[tuple[str, Any]] = []
    for key, value in table.items():
        line = f"{_key(key)} = {_value(value)}"
        long = len(line) > WIDTH
        if _is_list_with_a_word(value):
            yield _broken(f"{_key(key)} = ", value) if long else line
        elif _holds_tables(value) or (isinstance(value, Mapping) and long):
            later.append((f"{heading}.{_key(key)}" if heading else _key(key), value))
        else:
            yield _broken(f"{_key(key)} = ", value) if long else line
    for name, value in later:
        for one in value if isinstance(value, list) else [value]:
            yield ""
            yield f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            yield from _lines(one, name)


def _holds_tables(value: Any) -> bool:
    """Whether it is a list of tables, or a table of such as have headings."""
    if isinstance(value, list):
        return any(isinstance(one, Mapping) for one in value)
    return isinstance(value, Mapping) and any(
        isinstance(one, Mapping) or _holds_tables(one) for one in value.values()
    )


def _is_list_with_a_word(value: Any) -> bool:
    """Whether a table holds a list and one more thing, which then stands before it."""
    kinds = (
        sorted(type(one).__name__ for one in value.values()) if isinstance(value, Mapping) else []
    )
    return kinds == ["list", "str"] and not _holds_tables(value)


def _broken(head: str, value: Any) -> str:
    """A value over several lines where it holds a list: TOML breaks nothing else."""
    if isinstance(value, Mapping):
        (word, said), (name, entries) = sorted(
            value.items(), key=lambda pair: isinstance(pair[1], list)
        )
        return _broken(f"{head}{{ {_key(word)} = {_value(said)}, {_key(name)} = ", entries) + " }"
    if not isinstance(value, list):
        return head + _value(value)
    lines, line = [f"{head}["], "   "
    for text in (f" {_value(one)}," for one in value):
        if len(line) + len(text) > WIDTH:
            lines.append(line)
            line = "   "
        line += text
    return "\n".join([*lines, line, "]"])


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, str):
        # The escapes of JSON are those of TOML, which wants one more.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    return str(value).lower() if isinstance(value, bool) else repr(value)


def _key(key: str) -> str:
    return key if _BARE.match(key) else _value(key)
