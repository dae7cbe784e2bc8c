"""The equations of motion."""
