"""Which keys a description has, and what may stand there."""
