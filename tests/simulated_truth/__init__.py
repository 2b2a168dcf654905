"""What is true of a simulated print, without camera and without the measuring code."""

from .edges import EdgeTruth, edge_truth, true_detail_of, true_edge_response
from .grain import GrainTruth, grain_truth, true_tint_grain

__all__ = [
    "EdgeTruth",
    "GrainTruth",
    "edge_truth",
    "grain_truth",
    "true_detail_of",
    "true_edge_response",
    "true_tint_grain",
]
