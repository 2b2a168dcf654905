from .interruption import TERMINATED as TERMINATED, end_when_terminated as end_when_terminated
from .tasks import begin_at_once as begin_at_once
from .worker_processes import DIED as DIED, in_processes as in_processes
