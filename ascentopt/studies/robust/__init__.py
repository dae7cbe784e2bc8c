"""Programmes through the air that lose least over the days, not on the one day of the optimum."""
