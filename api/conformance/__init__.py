"""Plays the service to a client, with what can go wrong, and holds what the client does to what it should.

`driver` asks the client, through the adapter that its integrator writes; `service` and `script` answer it;
`sending`, `waiting`, `reading` and `inbox` are the checks, each beside what is played for it.
"""
