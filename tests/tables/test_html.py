"""HTML for notebooks: well formed, escaped, and nothing but text and tables."""

from __future__ import annotations

from html.parser import HTMLParser
from math import nan

from hypothesis import given

from ascentopt.tables import Table, page
from tests.tables.tables import NAMES, tables

ALLOWED = {"div", "strong", "table", "thead", "tbody", "tr", "th", "td", "br"}


class Read(HTMLParser):
    """Collects the text; refuses what is not well formed and what is no text or table."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.texts: list[str] = []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in ALLOWED
        assert {name for name, _ in attrs} <= {"style"}
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


@given(tables())
def test_any_table_is_well_formed(table: Table) -> None:
    Read(table._repr_html_())


@given(NAMES, tables())
def test_whatever_a_name_holds_it_is_text(name: str, table: Table) -> None:
    found = Read(page(f"<b>{name}&amp;", [f"<script>{name}</script>"], [table]))
    assert found.texts[0] == f"<b>{name}&amp;".replace("\r\n", "\n").replace("\r", "\n")


def test_people_read_their_own_units() -> None:
    table = Table.of(
        "where", [("flight_path_angle", "rad"), ("altitude", "m"), ("mach", "-"), ("kept", "")],
        [(0.5235987755982988, 300e3, nan, True)],
    )  # fmt: skip
    texts = Read(table._repr_html_()).texts
    assert texts == ["where", "flight path angle", "deg", "altitude", "km", "mach", "kept",
                     "30", "300", "yes"]  # fmt: skip


def test_of_many_rows_the_first_and_the_last_are_shown() -> None:
    table = Table.of("long", [("count", "")], [(k,) for k in range(1000)])
    texts = Read(table._repr_html_()).texts
    assert texts[0] == "long (1000 rows, 970 of them not shown)"
    assert texts[2:] == [*map(str, range(15)), "…", *map(str, range(985, 1000))]


def test_nothing_paints_the_ground() -> None:
    """Ink and ground are the page's own, light or dark."""
    html = Table.of("plain", [("time", "s")], [(1.0,)])._repr_html_()
    assert "color:inherit" in html
    assert "background:transparent" in html
    for colour in ("#", "white", "black"):
        assert colour not in html
