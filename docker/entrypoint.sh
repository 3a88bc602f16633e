#!/bin/sh
# Brings the database up to date, then becomes the given command.
set -eu
python manage.py migrate --noinput
exec "$@"
