"""Settings: one module, read from the environment.

DATABASE_URL, BROKER_URL and SECRET_KEY say where the services are; the local supervisor sets
them for its own PostgreSQL and Valkey, a production service sets them for real ones.
"""

import os
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

from celery.schedules import crontab
from csp.constants import NONE, SELF

BASE_DIR = Path(__file__).resolve().parent.parent


def flag(name: str) -> bool:
    """True when the environment says 1, true, yes or on."""
    return os.environ.get(name, "").strip().lower() in {"1", "true", "yes", "on"}


def listed(name: str, default: str = "") -> list[str]:
    """Comma-separated words of the environment."""
    return [word.strip() for word in os.environ.get(name, default).split(",") if word.strip()]


def database(url: str) -> dict[str, Any]:
    """Django's database entry from a PostgreSQL address; `?host=` names a socket folder."""
    parts = urlsplit(url)
    if parts.scheme not in {"postgresql", "postgres"}:
        raise ValueError(
            f"DATABASE_URL begins with {parts.scheme!r}; Greensand needs postgresql://"
        )
    query = {key: values[-1] for key, values in parse_qs(parts.query).items()}
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.lstrip("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": query.pop("host", None) or parts.hostname or "",
        "PORT": query.pop("port", None) or parts.port or "",
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "OPTIONS": query,
    }


SECRET_KEY = os.environ.get("SECRET_KEY", "")
DEBUG = flag("DEBUG")
ALLOWED_HOSTS = listed("ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = listed("CSRF_TRUSTED_ORIGINS")
DATABASES = {"default": database(os.environ.get("DATABASE_URL", "postgresql:///greensand"))}

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.postgres",
    "django.contrib.humanize",
    "django.contrib.admin",
    "django_htmx",
    "csp",
    "works",
    "selection",
    "schedule",
    "quality",
    "orders",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "works.middleware.WorksTimeMiddleware",
    "works.middleware.RefusalMiddleware",
]
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "works.context.works",
            ]
        },
    }
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
AUTH_USER_MODEL = "works.Person"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "orders:board"
LOGOUT_REDIRECT_URL = "login"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# Instants are stored in UTC; the middleware shows them in the works' own zone.
USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en-gb"
USE_I18N = False

STATIC_URL = "/static/"
STATIC_ROOT = Path(os.environ.get("STATIC_ROOT", BASE_DIR / "var" / "static"))
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = True
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
FILE_UPLOAD_MAX_MEMORY_SIZE = 10 * 1024 * 1024

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "connect-src": [SELF],
        "font-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [SELF],
        "manifest-src": [SELF],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
if flag("BEHIND_TLS"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SECURE_HSTS_SECONDS = 31_536_000

EMAIL_BACKEND = os.environ.get("EMAIL_BACKEND", "django.core.mail.backends.console.EmailBackend")
DEFAULT_FROM_EMAIL = os.environ.get("DEFAULT_FROM_EMAIL", "greensand@localhost")

CELERY_BROKER_URL = os.environ.get("BROKER_URL", "redis://localhost:6379/0")
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
# A broker that accepts and never answers must not hang the relay: the outbox row waits instead.
CELERY_TASK_PUBLISH_RETRY = False
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "socket_timeout": 2,
    "socket_connect_timeout": 2,
    "visibility_timeout": 3600,
}
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE = {
    "reforecast-each-shift": {
        "task": "schedule.tasks.reforecast_all",
        "schedule": crontab(minute=5, hour="5,13,21"),
    },
    "alerts-each-quarter-hour": {
        "task": "orders.tasks.review_alerts",
        "schedule": crontab(minute="*/15"),
    },
    "finish-elapsed-operations": {
        "task": "schedule.tasks.finish_elapsed",
        "schedule": crontab(minute="*/5"),
    },
    "witness-reminders": {
        "task": "quality.tasks.remind_of_visits",
        "schedule": crontab(minute=30, hour=5),
    },
    "weekly-status-reports": {
        "task": "orders.tasks.issue_weekly_reports",
        "schedule": crontab(minute=0, hour=5, day_of_week="mon"),
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": os.environ.get("LOG_LEVEL", "INFO")},
}
