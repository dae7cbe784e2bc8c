"""Flights of many draws side by side, from the pad to what became of them."""
