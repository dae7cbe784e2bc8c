"""The greatest payload: where it is begun, and the search next to it."""
