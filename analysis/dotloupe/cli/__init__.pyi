from . import command as command
from .command import main as main
