"""Which structures of the flight there are, and the search over them by first-order gains."""
