from .bundled import bundle_lines as bundle_lines
from .cautions import caution_text as caution_text, caution_texts as caution_texts
from .circumstances import circumstances_rows as circumstances_rows
from .contrast import TONES as TONES, contrast_caption as contrast_caption
from .corrections import correction_line as correction_line
from .crossed_screen import effects_screen as effects_screen
from .definitions import method as method
from .difference_table import Differences as Differences, differences as differences
from .effects import (
    effects_sentences as effects_sentences,
    leading_first as leading_first,
    level_text as level_text,
)
from .effects_rows import contrast_names as contrast_names, told_contrasts as told_contrasts
from .errors import error_text as error_text
from .first_screen_table import (
    FirstScreen as FirstScreen,
    ladder_screen as ladder_screen,
    ranking_screen as ranking_screen,
)
from .fitness_warnings import place_text as place_text
from .head import head_sentences as head_sentences, head_visibility as head_visibility
from .ladder import (
    camera_sentence as camera_sentence,
    recommendation_sentence as recommendation_sentence,
)
from .limits import notes as notes
from .pasted_table import markdown_table as markdown_table
from .phrases import (
    BETTER as BETTER,
    camera_text as camera_text,
    difference_place_name as difference_place_name,
    element_name as element_name,
    listed as listed,
    named as named,
    phrase as phrase,
    sentence as sentence,
    short as short,
    shown as shown,
    tint_tick as tint_tick,
)
from .planning import planning_lines as planning_lines
from .plot_captions import (
    LAID_ON_EACH_OTHER as LAID_ON_EACH_OTHER,
    Caption as Caption,
    criterion_caption as criterion_caption,
    detail_caption as detail_caption,
    differences_caption as differences_caption,
    eyesight_caption as eyesight_caption,
    focus_caption as focus_caption,
    ladder_caption as ladder_caption,
    line_pairs_caption as line_pairs_caption,
    lines_caption as lines_caption,
    noise_caption as noise_caption,
    placement_caption as placement_caption,
    readings_caption as readings_caption,
    repeat_caption as repeat_caption,
    tint_grain_caption as tint_grain_caption,
    trend_caption as trend_caption,
)
from .prepared import content_lines as content_lines, prepared_lines as prepared_lines
from .printer_screen import history_screen as history_screen
from .readings import readings_sentence as readings_sentence
from .repeat import repeat_screen as repeat_screen, repeat_sentences as repeat_sentences
from .scope import subject as subject
from .sections import HEADINGS as HEADINGS, section_lead as section_lead
from .sources import (
    Sources as Sources,
    capture_sources as capture_sources,
    comparison_parameters as comparison_parameters,
    history_parameters as history_parameters,
    history_sources as history_sources,
)
from .terminal import (
    differences_text as differences_text,
    effects_table as effects_table,
    history_table as history_table,
    ladder_table as ladder_table,
    measurement_table as measurement_table,
    ranking_table as ranking_table,
    repeat_table as repeat_table,
    wrapped as wrapped,
)
from .trend import advice_sentence as advice_sentence
from .verdict import (
    history_verdict as history_verdict,
    ladder_verdict as ladder_verdict,
    ranking_verdict as ranking_verdict,
)
from .visibility import (
    MODEL_LIMITS as MODEL_LIMITS,
    far as far,
    pair_sentence as pair_sentence,
    picture_sentence as picture_sentence,
    ranking_visibility as ranking_visibility,
)
