"""The scheme of collocation, and meshes of intervals."""
