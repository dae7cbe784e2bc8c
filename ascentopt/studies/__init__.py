"""Questions asked of many flights: comparison with rules of thumb, cost maps, simpler laws."""
