"""How a rule of thumb enters the orbit."""
