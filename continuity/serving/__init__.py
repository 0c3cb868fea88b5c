"""Serving the application, once everything is installed and built (`python -m continuity.serving`).

`server.py` sets the server up, `whole_requests.py` hands the application only requests that have arrived
whole, `beside.py` runs the processes beside it, and `authority.py` makes the certificates of `up --lan`.
"""
