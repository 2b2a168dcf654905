from .all_criteria import Effects as Effects, effects as effects
from .costs import CostDifference as CostDifference, CostKind as CostKind
from .criterion_effects import (
    CriterionEffects as CriterionEffects,
    Effect as Effect,
    Interaction as Interaction,
)
from .curves import Line as Line
from .design import Factor as Factor, Level as Level
from .estimates import Estimate as Estimate
from .planning import DesignPlan as DesignPlan, plan_design as plan_design
