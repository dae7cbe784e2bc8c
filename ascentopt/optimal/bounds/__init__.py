"""What can be said before anything is solved."""
