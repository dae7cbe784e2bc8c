"""Where a solve starts when another is solved: its flight told on another sequence of arcs."""
