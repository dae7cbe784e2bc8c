"""Numbers with units, as people write them and in SI."""
