from . import (
    measurement_cache as measurement_cache,
)
from . import (
    measuring as measuring,
)
from . import (
    remeasuring as remeasuring,
)
from .checking import Checked as Checked
from .checking import check_path as check_path
from .checking import died as died
from .duplicates import refuse_duplicates as refuse_duplicates
from .interruption import TERMINATED as TERMINATED
from .interruption import end_when_terminated as end_when_terminated
from .measuring import load_reference_edge as load_reference_edge
from .measuring import measure_paths as measure_paths
from .options import RunOptions as RunOptions
from .own_picture_file import OwnPictureFile as OwnPictureFile
from .plan import (
    Plan as Plan,
)
from .plan import (
    PlannedCapture as PlannedCapture,
)
from .plan import (
    Run as Run,
)
from .plan import (
    load_plan as load_plan,
)
from .plan import (
    planned_captures as planned_captures,
)
from .plan import (
    print_seconds as print_seconds,
)
from .planned import (
    compared_captures as compared_captures,
)
from .planned import (
    measure_planned as measure_planned,
)
from .planned import (
    plan_given as plan_given,
)
from .remeasuring import load_published as load_published
from .remeasuring import remeasure as remeasure
from .settings import (
    by_sent_ppi as by_sent_ppi,
)
from .settings import (
    measure_settings as measure_settings,
)
from .settings import (
    named_ppi as named_ppi,
)
from .settings import (
    setting_paths as setting_paths,
)
from .settings import (
    with_named_ppi as with_named_ppi,
)
from .worker_processes import in_processes as in_processes
