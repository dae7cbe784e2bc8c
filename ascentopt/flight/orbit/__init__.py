"""In orbit, and down again."""
