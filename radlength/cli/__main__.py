"""``python -m radlength.cli``: the command line where no script is installed."""

from radlength.cli import main

main()
