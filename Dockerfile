# One image for the web processes, the worker and the scheduled tasks; docker-compose.yml says which is which.
FROM python:3.11-slim-bookworm

RUN apt-get update \
    && apt-get install --yes --no-install-recommends libcairo2 postgresql-client \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 --home-dir /creasemark --shell /usr/sbin/nologin creasemark \
    && install --directory --owner creasemark /files

WORKDIR /creasemark
COPY requirements.lock .
RUN pip install --no-cache-dir --require-hashes --requirement requirements.lock

COPY manage.py ./
COPY geometry geometry
COPY accounts accounts
COPY bank bank
COPY assignments assignments
COPY config config
COPY templates templates
COPY static static

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 DATA_DIR=/files STATIC_ROOT=/creasemark/staticfiles
# Static files are the same for every site; the secret of this step is made for it and forgotten.
RUN SECRET_KEY="$(python -c 'import secrets; print(secrets.token_urlsafe(48))')" \
    python manage.py collectstatic --noinput --verbosity 0

USER creasemark
EXPOSE 8000
CMD ["granian", "--interface", "wsgi", "--host", "0.0.0.0", "--port", "8000", "--workers", "2", "--blocking-threads", "4", "--respawn-failed-workers", "config.wsgi:application"]
