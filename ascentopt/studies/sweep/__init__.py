"""Ascents over a grid of numbers of a vehicle and a mission."""
