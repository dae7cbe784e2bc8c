"""The independent flight: adaptive steps in Python, by another integrator."""
