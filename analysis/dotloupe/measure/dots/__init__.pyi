from .statistics import Dots as Dots, dots as dots
