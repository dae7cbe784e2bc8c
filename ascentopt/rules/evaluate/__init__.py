"""A rule flown into the orbit: its numbers given, the insertion found."""
