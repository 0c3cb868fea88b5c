"""How fast it is: measured on this machine, beside something simpler measured in the same run."""
