from .assessment import (
    Improve as Improve,
    NumberRepeatability as NumberRepeatability,
    Repeatability as Repeatability,
    repeatability as repeatability,
)
from .nested import Component as Component
