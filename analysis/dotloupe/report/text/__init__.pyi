from .cautions import caution_text as caution_text
from .cautions import caution_texts as caution_texts
from .corrections import correction_line as correction_line
from .difference_table import Differences as Differences
from .difference_table import differences as differences
from .findings import place_text as place_text
from .further_differences import (
    differences_by_group as differences_by_group,
)
from .further_differences import (
    differences_lines as differences_lines,
)
from .ladder import (
    camera_sentence as camera_sentence,
)
from .ladder import (
    recommendation_sentence as recommendation_sentence,
)
from .opening import (
    FirstScreen as FirstScreen,
)
from .opening import (
    history_screen as history_screen,
)
from .opening import (
    ladder_screen as ladder_screen,
)
from .opening import (
    ranking_screen as ranking_screen,
)
from .phrases import (
    BETTER as BETTER,
)
from .phrases import (
    OVERALL as OVERALL,
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
from .plot_captions import (
    LAID_ON_EACH_OTHER as LAID_ON_EACH_OTHER,
)
from .plot_captions import (
    Caption as Caption,
)
from .plot_captions import (
    criterion_caption as criterion_caption,
)
from .plot_captions import (
    detail_caption as detail_caption,
)
from .plot_captions import (
    eyesight_caption as eyesight_caption,
)
from .plot_captions import (
    focus_caption as focus_caption,
)
from .plot_captions import (
    ladder_caption as ladder_caption,
)
from .plot_captions import (
    line_pairs_caption as line_pairs_caption,
)
from .plot_captions import (
    noise_caption as noise_caption,
)
from .plot_captions import (
    placement_caption as placement_caption,
)
from .plot_captions import (
    readings_caption as readings_caption,
)
from .plot_captions import (
    tint_grain_caption as tint_grain_caption,
)
from .plot_captions import (
    trend_caption as trend_caption,
)
from .readings import readings_sentence as readings_sentence
from .scope import subject as subject
from .sections import (
    HEADINGS as HEADINGS,
)
from .sections import (
    interval_meaning as interval_meaning,
)
from .sections import (
    section_lead as section_lead,
)
from .sources import (
    Sources as Sources,
)
from .sources import (
    capture_sources as capture_sources,
)
from .sources import (
    comparison_parameters as comparison_parameters,
)
from .sources import (
    history_parameters as history_parameters,
)
from .sources import (
    history_sources as history_sources,
)
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
from .trend import advice_sentence as advice_sentence
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
