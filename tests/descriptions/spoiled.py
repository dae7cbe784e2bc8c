"""Good descriptions, spoiled in one of many ways."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from random import Random

import ascentopt as ao

EXAMPLES = Path(__file__).parents[2] / "examples" / "descriptions"

LITERALS = (
    "true", "false", "0", "-1", "1e999", "-1e999", "nan", "inf", "1e300", "1e-300", "-0.0", '""',
    '"none"', '"x"', "[]", "{}", "[[]]", "[1, 'a']", "1979-05-27", "07:32:00", '"1 kN"', '"1 deg"',
    '"3,5 t"', '"62 tons"', '"62 kgs"', '"-62 t"', '"1 / s"', '"1 m/(s"', '"1 m^99"', '"1 )"',
    '"1 1"', '"nan m"', '"1e999 m"', "12345678901234567890123456789012345678901234567890",
    "9" * 5000, "0x1F", "1_000", '{ csv = "nowhere.csv" }', '{ csv = 3 }', '{ csv = "." }',
    '{ base = "earth" }', '{ base = "pluto" }', '{ values = [1, 2], unit = "kN" }',
    '{ values = [1, 2], unit = 3 }', '{ values = 1, unit = "s" }', '"\\u0000"', '"earth"',
)  # fmt: skip


def good_texts(folder: Path) -> list[str]:
    """Those of all built-in scenarios and of the examples, whose tables lie in the folder then."""
    texts = []
    for name, one in ao.scenarios().items():
        path = folder / f"{name}.toml"
        ao.write(path, one)
        texts.append(path.read_text(encoding="utf-8"))
    for path in sorted(EXAMPLES.iterdir()):
        if path.suffix == ".csv":
            (folder / path.name).write_bytes(path.read_bytes())
        else:
            texts.append(path.read_text(encoding="utf-8"))
    return texts


def without_a_line(text: str, random: Random) -> str:
    lines = text.splitlines()
    del lines[random.randrange(len(lines))]
    return "\n".join(lines)


def with_a_line_twice(text: str, random: Random) -> str:
    lines = text.splitlines()
    lines.insert(random.randrange(len(lines)), random.choice(lines))
    return "\n".join(lines)


def with_lines_exchanged(text: str, random: Random) -> str:
    lines = text.splitlines()
    a, b = random.randrange(len(lines)), random.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


VALUE = re.compile(r"(?<== )(?:\"[^\"]*\"|[-\d.e]+|true|false|\[[^\]]*\])")
KEY = re.compile(r"\b[a-z_0-9]{2,}(?= =|\])")
NUMBER = re.compile(r"-?\d+\.?\d*(?:e-?\d+)?")
UNIT = re.compile(r"(?<=\d )[A-Za-z/^0-9() ]+(?=\")")


def replaced(text: str, pattern: re.Pattern[str], new: Callable[[str], str], random: Random) -> str:
    """One of its matches replaced; the text itself where there is none."""
    found = list(pattern.finditer(text))
    if not found:
        return text
    one = random.choice(found)
    return text[: one.start()] + new(one[0]) + text[one.end() :]


def with_another_value(text: str, random: Random) -> str:
    return replaced(text, VALUE, lambda _: random.choice(LITERALS), random)


def with_values_exchanged(text: str, random: Random) -> str:
    values = VALUE.findall(text)
    return replaced(text, VALUE, lambda _: random.choice(values), random)


def with_another_size(text: str, random: Random) -> str:
    def scaled(number: str) -> str:
        return repr(float(number) * 10.0 ** random.choice([-300, -9, -3, -1, 1, 3, 9, 300]))

    return replaced(text, NUMBER, scaled, random)


def with_another_sign(text: str, random: Random) -> str:
    return replaced(text, NUMBER, lambda number: repr(-float(number)), random)


def with_another_unit(text: str, random: Random) -> str:
    units = ["kN", "t", "deg", "km", "s", "m/s", "kPa", "tons", "sec", "", "g", "km/", "°", "lbf s"]
    return replaced(text, UNIT, lambda _: random.choice(units), random)


def with_a_misspelt_key(text: str, random: Random) -> str:
    def misspelt(key: str) -> str:
        at = random.randrange(len(key))
        return random.choice(
            [key[:at] + key[at + 1 :] or "x", key[:at] + key[at] + key[at:], key.upper()]
        )

    return replaced(text, KEY, misspelt, random)


def with_another_key(text: str, random: Random) -> str:
    keys = [*KEY.findall(text), "csv", "base", "time", "values", "unit", '"a b"', '"ä.ö"', '""']
    return replaced(text, KEY, lambda _: random.choice(keys), random)


def half_written(text: str, random: Random) -> str:
    return text[: random.randrange(len(text))]


def with_other_characters(text: str, random: Random) -> str:
    odd = "\x00\x7f\"'[]{}=.,#\n\\\u00e4\ufeff\u202e0aZ-+ "
    for _ in range(random.randint(1, 4)):
        at = random.randrange(len(text))
        text = text[:at] + random.choice(odd) + text[at + random.randint(0, 2) :]
    return text


WAYS: tuple[Callable[[str, Random], str], ...] = (
    without_a_line, with_a_line_twice, with_lines_exchanged, with_another_value,
    with_values_exchanged, with_another_size, with_another_sign, with_another_unit,
    with_a_misspelt_key, with_another_key, half_written, with_other_characters,
)  # fmt: skip


def with_other_bytes(data: bytes, random: Random) -> bytes:
    """Some bytes changed, or nothing but noise."""
    if random.random() < 0.2:
        return random.randbytes(random.randint(1, 3000))
    spoiled = bytearray(data)
    for _ in range(random.randint(1, 5)):
        spoiled[random.randrange(len(spoiled))] = random.randrange(256)
    return bytes(spoiled)
