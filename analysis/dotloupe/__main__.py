"""`python -m dotloupe`: the command, where its own name is not on the path."""

from dotloupe.cli import main

main()
