from . import command as command, completion as completion, sheet as sheet
from .command import main as main
