"""Rooms inside rooms: which of them a file stands in, and which others of its room it imports.

A file that stands beside the folders of its room counts as a room by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from tests.architecture.rooms import (
    FACE,
    PACKAGE,
    Import,
    cycles,
    heights,
    our_imports,
)

# Low to high, as data flow: each may import those of its own row and of the rows before it. The
# face of a room, its `__init__`, is above them all.
ROWS = {
    "world": (
        ("monotone", "sensible"),
        ("table",),
        ("wind", "thermosphere"),
        ("standard_1976", "weather"),
        ("atmosphere",),
        ("body",),
        ("ellipsoid",),
        ("air", "gravity", "orbital_elements"),
    ),
    "descriptions": (
        ("text_files",),
        ("quantities",),
        ("schema",),
        ("columns", "air", "warnings_told"),
        ("reading",),
        ("writing",),
        ("files",),
    ),
    "flight": (
        ("plan",),
        ("phases",),
        ("dynamics",),
        ("guidance",),
        ("results",),
        ("simulation", "compiled"),
        ("orbit",),
    ),
    "steering": (
        ("table", "formulas"),
        ("tabulated", "callable_steering", "pitch_table", "held_apoapsis"),
        ("throttling",),
        ("programme",),
        ("knots", "gravity_turn"),
    ),
    "guided": (
        ("deviations", "outcomes"),
        ("steps",),
        ("plan",),
        ("guidance",),
        ("flights",),
        ("dispersed_flight",),
    ),
    "rules": (("insertion",), ("laws",), ("evaluate",), ("tune",), ("catalogue",)),
    "collocation": (
        ("mesh",),
        ("coordinates",),
        ("model",),
        ("problem", "guess"),
        ("solution",),
        ("nlp",),
        ("solver",),
        ("refinement",),
    ),
    "optimal": (
        ("deadline", "speeds", "perturbations", "task"),
        ("bounds", "problem"),
        ("guess",),
        ("warm_start",),
        ("attempt",),
        ("in_turn", "solved_program"),
        ("switching",),
        ("moves",),
        ("solve",),
        ("design",),
        ("structure",),
        ("by_inserting_stage",),
        ("payload",),
        ("result",),
        ("explain",),
        ("best_refined", "stoppable_search", "optimum"),
        ("neighbours",),
        ("optimize",),
    ),
    "baselines": (
        ("inputs", "tolerance"),
        ("input_partials",),
        ("case",),
        ("explanation",),
        ("check",),
        ("writing",),
        ("reading", "file"),
        ("baseline",),
        ("plugin",),
    ),
    "studies": (
        ("designs",),
        ("comparison", "maps", "simplify", "deorbit", "payload", "sweep", "sizing", "dispersions"),
        ("robust",),
    ),
    "report": (("flown",), ("target_orbit",), ("page",), ("card", "figures")),
}
HEIGHTS = {room: heights((*rows, (FACE,))) for room, rows in ROWS.items()}


def rooms_with_rooms(package: Path) -> list[str]:
    """Names of the rooms that hold folders of files."""
    inner = {path.relative_to(package).parts for path in package.rglob("*.py")}
    return sorted({parts[0] for parts in inner if len(parts) > 2})


def broken_inside(package: Path) -> list[str]:
    """A sentence for each import within a room that points upwards, and each unknown room."""
    unplaced = [
        f"{package / room} holds rooms: give them places in ROWS of {Path(__file__).name}"
        for room in rooms_with_rooms(package)
        if room not in ROWS
    ]
    return unplaced + [
        sentence
        for room in ROWS
        for sentence in (*unknown_inside(package, room), *upwards(package, room))
    ]


def unknown_inside(package: Path, room: str) -> list[str]:
    """Inner rooms that have no place."""
    found = {inner_room_of(path, package) for path in sorted((package / room).rglob("*.py"))}
    return [
        f"{package / room / inner} is no room of {room}: give it a place in ROWS of "
        f"{Path(__file__).name}"
        for inner in sorted(found - set(HEIGHTS[room]))
    ]


def upwards(package: Path, room: str) -> Iterator[str]:
    """Imports of a higher inner room."""
    height = HEIGHTS[room]
    for found in inner_imports(package, room):
        if height.get(found.imported, 0) > height.get(found.importer, 0):
            yield (
                f"{found.path}:{found.line}: {found.importer} imports {found.imported}, which is "
                f"a higher room of {room}"
            )


def inner_cycles(package: Path, room: str) -> list[str]:
    """Pairs of inner rooms that import each other, directly or by way of others."""
    return cycles(inner_imports(package, room))


def inner_imports(package: Path, room: str) -> list[Import]:
    """Every import between two different inner rooms of a room."""
    return [
        Import(path=path, line=line, importer=inner_room_of(path, package), imported=imported)
        for path in sorted((package / room).rglob("*.py"))
        for line, parts in our_imports(path, package)
        if parts[1:2] == (room,)
        and (imported := inner_room_named(parts, package)) != inner_room_of(path, package)
    ]


def inner_room_of(path: Path, package: Path) -> str:
    """The folder or file directly below the room."""
    second = path.relative_to(package).parts[1].removesuffix(".py")
    return FACE if second == "__init__" else second


def inner_room_named(parts: tuple[str, ...], package: Path) -> str:
    """The inner room behind a dotted name; a name that is no module is one of the room's face."""
    if len(parts) == 2:
        return FACE
    place = package / parts[1] / parts[2]
    known = parts[2] in HEIGHTS.get(parts[1], ())
    return parts[2] if known or place.is_dir() or place.with_suffix(".py").is_file() else FACE


def module_cycles(package: Path) -> list[str]:
    """Pairs of files that import each other, directly or by way of others."""
    return cycles(
        [
            Import(path=path, line=line, importer=importer, imported=imported)
            for path in sorted(package.rglob("*.py"))
            for importer in [file_named((PACKAGE, *path.relative_to(package).parts), package)]
            for line, parts in our_imports(path, package)
            if (imported := file_named(parts, package)) != importer
        ]
    )


def file_named(parts: tuple[str, ...], package: Path) -> str:
    """Path below the package of the file behind a dotted name, or of the folder's `__init__`."""
    known = [part.removesuffix(".py") for part in parts[1:] if part != "__init__.py"]
    while known:
        place = package.joinpath(*known)
        if place.with_suffix(".py").is_file() or (place / "__init__.py").is_file():
            break
        known.pop()
    return "/".join(known) or FACE
