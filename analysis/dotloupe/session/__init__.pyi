from . import (
    measurement_cache as measurement_cache,
    measuring as measuring,
    remeasuring as remeasuring,
)
from .bundle import (
    LICENCES as LICENCES,
    is_bundle as is_bundle,
    opened_bundle as opened_bundle,
    pack_bundle as pack_bundle,
)
from .checking import (
    Checked as Checked,
    check_file as check_file,
    check_together as check_together,
    died as died,
)
from .duplicates import refuse_duplicates as refuse_duplicates
from .measuring import (
    load_camera_by_scale as load_camera_by_scale,
    load_reference_edge as load_reference_edge,
    measure_file as measure_file,
    measure_paths as measure_paths,
    read_in_results as read_in_results,
    readable as readable,
    with_exposures as with_exposures,
)
from .options import RunOptions as RunOptions
from .order_of_printing import printing_order as printing_order
from .own_picture_option import OwnPictureFile as OwnPictureFile
from .planned import (
    compared_captures as compared_captures,
    measure_each_planned as measure_each_planned,
    measure_planned as measure_planned,
    plan_given as plan_given,
    planned_costs as planned_costs,
    planned_levels as planned_levels,
    planned_options as planned_options,
    stated as stated,
)
from .remeasuring import load_published as load_published, remeasure as remeasure
from .session_file import (
    Plan as Plan,
    PlannedCapture as PlannedCapture,
    Run as Run,
    load_plan as load_plan,
    planned_captures as planned_captures,
    print_seconds as print_seconds,
    printed_together as printed_together,
    run_levels as run_levels,
    setting_names as setting_names,
)
from .settings import (
    by_sent_ppi as by_sent_ppi,
    measure_settings as measure_settings,
    named_ppi as named_ppi,
    setting_paths as setting_paths,
    with_named_ppi as with_named_ppi,
)
from .two_level_folders import crossed_folders as crossed_folders
