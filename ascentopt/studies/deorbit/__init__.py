"""The way home."""
