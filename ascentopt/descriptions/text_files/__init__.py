"""Text files: read, written, and places in them."""
