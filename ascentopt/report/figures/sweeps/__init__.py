"""Figures of sweeps over two numbers."""
