"""Numbers from arrays: edge, line pairs, grain, dot placement, transfer, seeing."""
