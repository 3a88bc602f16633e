FROM python:3.11-slim

# Chromium draws the charts and briefs that are exported as files.
RUN apt-get update \
    && apt-get install -y --no-install-recommends chromium fontconfig fonts-dejavu fonts-noto-core \
    && rm -rf /var/lib/apt/lists/*

RUN pip install --no-cache-dir uv==0.13.9 \
    && useradd --create-home --uid 10001 rillmark \
    && install -d -o rillmark -g rillmark /srv/rillmark /data

ENV PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    UV_COMPILE_BYTECODE=1 \
    UV_LINK_MODE=copy \
    UV_NO_CACHE=1 \
    PATH=/srv/rillmark/.venv/bin:$PATH \
    RILLMARK_DATA_DIR=/data

WORKDIR /srv/rillmark
USER rillmark

# The versions are all in pyproject.toml, so this layer is made again only when they change.
COPY --chown=rillmark:rillmark pyproject.toml ./
RUN uv sync --no-default-groups --python /usr/local/bin/python3

COPY --chown=rillmark:rillmark . .
# The key is for this one step: without it one would be made and stay in the image for everybody to read.
RUN SECRET_KEY=collecting-static-files python manage.py collectstatic --noinput --verbosity 0

EXPOSE 8000
VOLUME /data
HEALTHCHECK --interval=30s --timeout=6s --start-period=60s CMD ["python", "docker/healthcheck.py"]
ENTRYPOINT ["docker/entrypoint.sh"]
CMD ["gunicorn", "config.wsgi", "--bind=0.0.0.0:8000", "--workers=3", "--threads=4", \
     "--worker-tmp-dir=/dev/shm", "--timeout=120", "--access-logfile=-"]
