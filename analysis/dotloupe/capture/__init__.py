"""What the camera saw: readers, linear reflectance, fitness of a capture."""
