"""A second family of cases: the missions that people fly most, and what the first one left out."""
