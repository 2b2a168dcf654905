"""From how far a print is looked at where nobody says."""

VIEWING_DISTANCE_MM = 350.0
"""A print held in the hands (common practice, no source)."""
