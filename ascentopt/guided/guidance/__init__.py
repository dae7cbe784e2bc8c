"""How guidance predicts and solves the rest of a burn, and what it aims at."""
