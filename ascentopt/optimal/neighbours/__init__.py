"""The optimum from the solution of an ascent whose vehicle or mission differs in numbers."""
