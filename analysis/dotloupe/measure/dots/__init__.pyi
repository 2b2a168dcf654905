from .statistics import Dots as Dots
from .statistics import dots as dots
