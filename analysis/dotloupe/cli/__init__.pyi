from . import command as command, completion as completion
from .command import main as main
