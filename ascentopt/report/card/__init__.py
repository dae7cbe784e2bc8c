"""The flight card, part by part."""
