"""What flies: the sequence of arcs, the equations of motion, the simulation, the budget."""
