"""Rules of thumb for the dense air, each a law with open numbers."""
