# One image for web, worker, beat, relay and migrate; docker-compose.yml gives each its command.
FROM python:3.12-slim

ENV PYTHONUNBUFFERED=1 \
    STATIC_ROOT=/srv/greensand-static
WORKDIR /srv/greensand

COPY requirements-uv.lock requirements.lock ./
RUN pip install --no-cache-dir --require-hashes -r requirements-uv.lock \
    && uv pip install --system --no-cache --compile-bytecode --require-hashes -r requirements.lock

COPY . .
# The key is for this step alone; the services get theirs from the environment.
RUN SECRET_KEY=for-this-step-alone DATABASE_URL=postgresql:///none \
    python manage.py collectstatic --no-input \
    && useradd --system --home-dir /srv/greensand greensand \
    && mkdir /srv/beat && chown greensand /srv/beat
USER greensand
EXPOSE 8000
