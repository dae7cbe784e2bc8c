"""Figures of flights on days that differ."""
