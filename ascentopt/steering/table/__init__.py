"""A table of steering: its segments, what it was made for, and how it is written down."""
