"""The air of a day: warmer or colder than a standard, or as a balloon met it."""
