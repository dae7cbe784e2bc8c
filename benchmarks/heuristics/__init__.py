"""Named scenarios in which rules of thumb are set beside the optimum."""
