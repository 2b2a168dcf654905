"""Settings against each other: rank, ladder, track."""
