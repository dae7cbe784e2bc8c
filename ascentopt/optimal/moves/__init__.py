"""Changes of a structure by one burn, coast, end, throttle, heading or place of the drop."""
