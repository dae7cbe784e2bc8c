"""Programs that measure: times as medians and ratios, never as tests."""
