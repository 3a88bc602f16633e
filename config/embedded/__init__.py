"""Django's PostgreSQL backend on the embedded server, which it starts when a connection is first needed."""
