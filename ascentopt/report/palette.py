"""Colours of our figures: told apart in print and by people who see red and green alike."""

FLIGHT = "#1f3b73"
SECOND = "#c4560c"
LIMIT = "#9c1c56"
GROUND = "#3d3d3d"
SOFT = "#6b6f76"
AIR = "#e6eef2"
