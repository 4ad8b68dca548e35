"""Every Django setting of the project, readable from top to bottom; nothing need be set to run it.

Variables are read through `env` alone and listed in DEVELOPERS.md under "Settings" (a test compares the two).
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF

from farm.settings import env
from farm.settings.broker import broker
from farm.settings.data import data_folder, given_push_key, push_key, secret_key
from farm.settings.database import database
from farm.settings.mail import mail

BASE = Path(__file__).resolve().parents[2]
DATA = data_folder(Path(env.text("FEATHERDAYS_DATA", str(BASE / "data"))))

# Safety. Debug is for work on the project itself: its pages show settings to whoever asks.
DEBUG = env.flag("FEATHERDAYS_DEBUG")
SECRET_KEY = env.secret("FEATHERDAYS_SECRET_KEY") or secret_key(DATA)
_before = env.secret("FEATHERDAYS_SECRET_KEY_BEFORE")
SECRET_KEY_FALLBACKS = [_before] if _before else []
TLS = env.flag("FEATHERDAYS_TLS")
PORT = env.number("FEATHERDAYS_PORT", 8000, low=1, high=65535)
BIND = env.text("FEATHERDAYS_BIND", "127.0.0.1")
PROXY = env.text("FEATHERDAYS_PROXY", "127.0.0.1" if TLS else "")
THREADS = env.number("FEATHERDAYS_THREADS", 8, low=1, high=64)
ADDRESS = env.address("FEATHERDAYS_ADDRESS", f"http://localhost:{PORT}")
_HOST = urlsplit(ADDRESS).hostname or "localhost"
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]", _HOST, *env.listing("FEATHERDAYS_HOSTS")]
CSRF_TRUSTED_ORIGINS = [ADDRESS]

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = TLS
SESSION_COOKIE_AGE = 60 * 60 * 24 * 90  # a phone in a barn should not ask for a password every fortnight
CSRF_COOKIE_HTTPONLY = True
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if TLS else 0
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}

INSTALLED_APPS = [
    "farm",
    "farm.web",
    "calendars",
    "tasks",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
]
MIDDLEWARE = [
    "calendars.middleware.calendars_first",  # before all: a calendar is asked for without cookies or language
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "farm.web.language.login_language",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "farm.web.mishaps.MishapMiddleware",
]
ROOT_URLCONF = "farm.urls"
WSGI_APPLICATION = "farm.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "farm.web.context.frame",
            ],
        },
    }
]

# Records. Each service opens its own transaction; one around every request would hide where it begins.
DATABASES = {"default": database(env.secret("DATABASE_URL"), DATA)}
ATOMIC_REQUESTS = False
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# People.
AUTH_USER_MODEL = "farm.Login"
# E-mail is unique whatever its case, by a constraint on Lower(email), which that check does not know of.
SILENCED_SYSTEM_CHECKS = ["auth.E003"]
SIGNUP = env.flag("FEATHERDAYS_SIGNUP", default=True)
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
for name, value in mail(env.secret("EMAIL_URL"), DATA).items():
    globals()[name] = value
DEFAULT_FROM_EMAIL = SERVER_EMAIL = env.text("FEATHERDAYS_MAIL_FROM", "Featherdays <featherdays@localhost>")

# Words, days and numbers. Only languages with our own catalogue are listed: half-translated pages help
# nobody.
LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English")]
LOCALE_PATHS = [BASE / "farm" / "locale"]
USE_I18N = USE_TZ = True
FORMAT_MODULE_PATH = ["farm.formats"]
TIME_ZONE = "UTC"  # instants are UTC; each farm's own zone is applied at the edge

# Files. Names carry a digest, so that a browser may keep them for ever and still gets the next version.
STATIC_URL = "static/"
STATIC_ROOT = DATA / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
MEDIA_ROOT = DATA / "media"
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = DEBUG

# Weather. Nothing is asked before a farm wants a forecast and somebody has said whom the service may write to.
FORECAST_URL = env.link(
    "FEATHERDAYS_FORECAST_URL", "https://api.met.no/weatherapi/locationforecast/2.0/complete"
)
FORECAST_CREDIT = env.text("FEATHERDAYS_FORECAST_CREDIT", "MET Norway, CC BY 4.0")
FORECAST_CONTACT = env.text("FEATHERDAYS_FORECAST_CONTACT")

# Messages to telephones.
PUSH_KEY = given_push_key(env.secret("FEATHERDAYS_PUSH_KEY")) or push_key(DATA)
PRIVATE_PUSH = env.flag("FEATHERDAYS_PRIVATE_PUSH")

# Off where a proxy compresses by itself.
CALENDAR_GZIP = env.flag("FEATHERDAYS_CALENDAR_GZIP", True)

# Background jobs: Celery reads what starts with CELERY_.
_redis = env.secret("REDIS_URL")
# What is counted against guessing is counted once for all web processes, where Redis is there to hold it.
CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": _redis}
    if _redis
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
}
_broker = broker(_redis, DATA)
CELERY_BROKER_URL = _broker["url"]
CELERY_BROKER_TRANSPORT_OPTIONS = _broker["options"]
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_TASK_DEFAULT_QUEUE = "featherdays"
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_ACKS_LATE = True  # jobs are idempotent: twice is fine, never is not
CELERY_TASK_PUBLISH_RETRY = False
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_CONCURRENCY = env.number("FEATHERDAYS_WORKERS", 2, low=1, high=64)
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE_FILENAME = str(DATA / "beat")

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "farm.settings.redact.RedactingFormatter",
            "format": "%(asctime)s %(levelname)s %(name)s: %(message)s",
        }
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {
        "handlers": ["stderr"],
        "level": env.choice("FEATHERDAYS_LOG", "WARNING", ("DEBUG", "INFO", "WARNING", "ERROR")),
    },
    # Django's own handlers would write the same lines again, unredacted.
    "loggers": {
        "django": {"handlers": [], "level": "NOTSET", "propagate": True},
        "django.server": {"handlers": []},
    },
}
