"""`python -m api.commands` is `stagewright`."""

from api.commands import main

main(prog_name="stagewright")
