from . import command as command, completion as completion, prepare as prepare, sheet as sheet
from .command import main as main
