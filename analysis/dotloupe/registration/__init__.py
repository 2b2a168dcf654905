"""Where a capture lies on the patch: coded marks and refinement."""
