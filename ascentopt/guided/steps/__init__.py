"""Steps of integration of many flights with deviations, compiled, and where events fall in them."""
