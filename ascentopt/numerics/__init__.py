"""Methods that know nothing of what they are used for."""
