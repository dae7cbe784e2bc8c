"""Tables at random: names, units and cells of any kind."""

from __future__ import annotations

from hypothesis import strategies as st

from ascentopt.tables import Column, Table

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
NAMES = TEXTS.filter(str.strip)
UNITS = st.sampled_from(["m", "m/s", "rad", "-", "kg per unit", "Pa rad"])
FLOATS = st.floats(allow_nan=True, allow_infinity=True)


@st.composite
def tables(draw: st.DrawFn) -> Table:
    """Columns of numbers and of texts, with gaps."""
    names = draw(st.lists(NAMES, min_size=1, max_size=5, unique=True))
    numeric = [draw(st.booleans()) for _ in names]
    columns = [
        Column(name=name, unit=draw(UNITS) if number else "")
        for name, number in zip(names, numeric, strict=True)
    ]
    cells = [
        st.one_of(st.none(), FLOATS, st.integers(-(10**6), 10**6)) if number else TEXTS
        for number in numeric
    ]
    rows = draw(st.lists(st.tuples(*cells), max_size=6))
    return Table(title=draw(NAMES), columns=columns, rows=rows, notes=draw(st.lists(TEXTS)))
