"""The fast flight: whole steps of integration compiled."""
