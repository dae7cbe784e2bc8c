"""What the user is given: the ascent, its certificate, steering table and partials."""
