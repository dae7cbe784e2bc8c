"""Where a solve starts when nothing is solved: flights of a family, and their meshes."""
