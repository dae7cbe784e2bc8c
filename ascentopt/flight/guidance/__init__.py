"""The contract between whoever steers and whoever flies."""
