"""Commands for the command line and what keeps the processes of one machine together."""
