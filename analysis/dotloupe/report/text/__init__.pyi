from .cautions import caution_text as caution_text
from .difference_table import differences as differences
from .further_differences import (
    differences_by_group as differences_by_group,
    differences_lines as differences_lines,
)
from .opening import first_screen as first_screen
from .phrases import (
    BETTER as BETTER,
    OVERALL as OVERALL,
    counted as counted,
    element_name as element_name,
    listed as listed,
    named as named,
    phrase as phrase,
    sentence as sentence,
    short as short,
    shown as shown,
    tint_name as tint_name,
)
from .scope import subject as subject
from .terminal import (
    ladder_table as ladder_table,
    measurement_table as measurement_table,
    ranking_table as ranking_table,
    wrapped as wrapped,
)
from .verdict import ladder_verdict as ladder_verdict, ranking_verdict as ranking_verdict
from .visibility import (
    MODEL_LIMITS as MODEL_LIMITS,
    far as far,
    pair_sentence as pair_sentence,
    picture_sentence as picture_sentence,
    ranking_visibility as ranking_visibility,
)
from .weights import weights_sentences as weights_sentences
