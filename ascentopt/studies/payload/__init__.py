"""The heaviest payload that a vehicle brings to the orbit."""
