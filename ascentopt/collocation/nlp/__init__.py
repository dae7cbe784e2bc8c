"""The nonlinear program: layout, derivatives, vectors, names."""
