from .cautions import caution_text as caution_text
from .difference_table import differences as differences
from .further_differences import (
    differences_by_group as differences_by_group,
)
from .further_differences import (
    differences_lines as differences_lines,
)
from .opening import first_screen as first_screen
from .phrases import (
    BETTER as BETTER,
)
from .phrases import (
    OVERALL as OVERALL,
)
from .phrases import (
    counted as counted,
)
from .phrases import (
    element_name as element_name,
)
from .phrases import (
    listed as listed,
)
from .phrases import (
    named as named,
)
from .phrases import (
    phrase as phrase,
)
from .phrases import (
    sentence as sentence,
)
from .phrases import (
    short as short,
)
from .phrases import (
    shown as shown,
)
from .phrases import (
    tint_name as tint_name,
)
from .scope import subject as subject
from .terminal import (
    ladder_table as ladder_table,
)
from .terminal import (
    measurement_table as measurement_table,
)
from .terminal import (
    ranking_table as ranking_table,
)
from .terminal import (
    wrapped as wrapped,
)
from .verdict import ladder_verdict as ladder_verdict
from .verdict import ranking_verdict as ranking_verdict
from .visibility import (
    MODEL_LIMITS as MODEL_LIMITS,
)
from .visibility import (
    far as far,
)
from .visibility import (
    pair_sentence as pair_sentence,
)
from .visibility import (
    picture_sentence as picture_sentence,
)
from .visibility import (
    ranking_visibility as ranking_visibility,
)
from .weights import weights_sentences as weights_sentences
