"""Which room each module of the package lives in, and which rooms it imports.

Reads source with `ast` and imports nothing, so an import inside a function or under
`TYPE_CHECKING` counts like any other.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

PACKAGE = "ascentopt"
FACE = "the face"

Importing = ast.Import | ast.ImportFrom | ast.Call

# Low to high. A room may import the rooms of its own row and of the rows before it.
ROWS = (
    ("units", "errors", "typing", "telling", "files", "validation"),
    ("arguments",),
    ("persistence",),
    ("progress", "numerics", "tables"),
    ("world", "rocket", "mission"),
    ("scenarios",),
    ("descriptions",),
    ("flight",),
    ("steering",),
    ("rules",),
    ("collocation",),
    ("optimal",),
    ("guided",),
    ("studies", "baselines"),
    ("report",),
    (FACE,),
    ("command",),
    ("__main__",),
)


def heights(rows: tuple[tuple[str, ...], ...]) -> dict[str, int]:
    """The row of each room."""
    return {room: height for height, row in enumerate(rows) for room in row}


HEIGHT = heights(ROWS)

# Rooms that may import less than their height allows. The engine solves any optimal control
# problem, so it may learn nothing of rockets, planets or units; no more may numerical methods.
ONLY = {
    "numerics": frozenset({"errors", "typing", "validation"}),
    "collocation": frozenset(
        {"errors", "typing", "validation", "arguments", "numerics", "progress"}
    ),
}


@dataclass(frozen=True, kw_only=True)
class Import:
    """One import of one room of the package by another."""

    path: Path
    line: int
    importer: str
    imported: str


def imports_of_package(package: Path) -> list[Import]:
    """Every import between two different rooms of the package in the folder `package`."""
    return [
        Import(path=path, line=line, importer=room_of(path, package), imported=imported)
        for path in sorted(package.rglob("*.py"))
        for line, imported in imported_rooms(path, package)
        if imported != room_of(path, package)
    ]


def room_of(path: Path, package: Path) -> str:
    """The room of a source file: the folder or module directly below the package."""
    first = path.relative_to(package).parts[0].removesuffix(".py")
    return FACE if first == "__init__" else first


def imported_rooms(path: Path, package: Path) -> Iterator[tuple[int, str]]:
    """Line and room of each import of our own package in one file."""
    rooms = {(line, room_named(parts, package)) for line, parts in our_imports(path, package)}
    yield from sorted(rooms)


def our_imports(path: Path, package: Path) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Line and dotted name of each import of our own package in one file."""
    tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
    home = (PACKAGE, *path.relative_to(package).parts[:-1])
    for node in ast.walk(tree):
        if isinstance(node, Importing):
            yield from (
                (node.lineno, parts) for parts in named_modules(node, home) if parts[0] == PACKAGE
            )


def room_named(parts: tuple[str, ...], package: Path) -> str:
    """The room behind a dotted name; a name that is no module is one that the face offers."""
    if len(parts) == 1:
        return FACE
    is_module = (package / parts[1]).is_dir() or (package / f"{parts[1]}.py").is_file()
    return parts[1] if is_module or parts[1] in HEIGHT else FACE


def named_modules(node: Importing, home: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Dotted names that one syntax node imports, split at the dots; `home` is its package."""
    match node:
        case ast.Import(names=names):
            return [tuple(alias.name.split(".")) for alias in names]
        case ast.ImportFrom(module=module, names=names, level=level):
            base = home[: len(home) - level + 1] if level else ()
            stem = (*base, *(module.split(".") if module else ()))
            return [(*stem, alias.name) for alias in names]
        case ast.Call(
            func=ast.Name(id="import_module" | "__import__") | ast.Attribute(attr="import_module"),
            args=[ast.Constant(value=str(name)), *_],
        ):
            return [tuple(name.split("."))]
        case _:
            return []


def broken_rules(package: Path) -> list[str]:
    """A sentence for each import that the house does not allow, and each unknown room."""
    found = imports_of_package(package)
    unknown = {room_of(path, package) for path in package.rglob("*.py")} - set(HEIGHT)
    here = Path(__file__).name
    rooms = [
        f"{package / room} is no room of the house: give it a place in ROWS of {here}"
        for room in sorted(unknown)
    ]
    return rooms + [sentence for each in found if (sentence := objection(each))]


def objection(found: Import) -> str | None:
    """Why an import is not allowed, or None when it is."""
    where = f"{found.path}:{found.line}: {found.importer} imports {found.imported}"
    allowed = ONLY.get(found.importer)
    if allowed is not None and found.imported not in allowed:
        return f"{where}, but may import only {', '.join(sorted(allowed))}"
    if found.importer not in HEIGHT or found.imported not in HEIGHT:
        return f"{where}, and one of them is no room of the house"
    if HEIGHT[found.imported] > HEIGHT[found.importer]:
        return f"{where}, which is a higher room"
    return None


def room_cycles(package: Path) -> list[str]:
    """Pairs of rooms that import each other, directly or by way of others."""
    return cycles(imports_of_package(package))


def cycles(found: list[Import]) -> list[str]:
    """Pairs that import each other, directly or by way of others."""
    edges: dict[str, set[str]] = {}
    for each in found:
        edges.setdefault(each.importer, set()).add(each.imported)
    reached = {room: reachable(room, edges) for room in edges}
    return [
        f"{first} and {second} import each other"
        for first, far in sorted(reached.items())
        for second in sorted(far)
        if first < second and first in reached.get(second, ())
    ]


def reachable(room: str, edges: dict[str, set[str]]) -> set[str]:
    """All rooms that can be reached from one by following imports."""
    seen: set[str] = set()
    waiting = [room]
    while waiting:
        for following in edges.get(waiting.pop(), set()) - seen:
            seen.add(following)
            waiting.append(following)
    return seen
