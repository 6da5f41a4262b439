"""`python -m rollsim` is the command `rollsim`."""

from rollsim.cli.main import main

main()
