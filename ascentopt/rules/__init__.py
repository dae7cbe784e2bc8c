"""Rules of thumb: families of steering laws with one or two open numbers, flown to the orbit."""
