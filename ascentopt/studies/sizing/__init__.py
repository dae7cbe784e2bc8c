"""The best vehicle of a design space, sized together with its flight."""
