"""From a solution to the mesh that makes it right."""
