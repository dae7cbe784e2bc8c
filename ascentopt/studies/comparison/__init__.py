"""The optimum beside the rules of thumb."""
