# The packages, with their hashes, in a layer that changes only when the lock does.
FROM python:3.11-slim AS packages
COPY requirements.txt .
RUN python -m venv /venv \
    && /venv/bin/pip install --no-cache-dir --disable-pip-version-check --require-hashes -r requirements.txt

FROM python:3.11-slim
RUN useradd --create-home --uid 10001 gymtrack && install -d -o gymtrack /data
COPY --from=packages /venv /venv
WORKDIR /app
COPY . .
RUN python -m compileall -q .
# VIRTUAL_ENV tells manage.py that somebody else sees to the environment.
ENV VIRTUAL_ENV=/venv PATH=/venv/bin:$PATH PYTHONUNBUFFERED=1 GYMTRACK_DATA=/data
USER gymtrack
VOLUME /data
EXPOSE 8000
CMD ["granian", "--interface", "wsgi", "--host", "0.0.0.0", "--port", "8000", "gymtrack.wsgi:application"]
