"""An optimal ascent as a programme that a person can fly."""
