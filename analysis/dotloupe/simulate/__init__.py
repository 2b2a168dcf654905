"""An invented printer and camera, for samples, tests and teaching."""
