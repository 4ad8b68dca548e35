"""Every Django setting of the project, readable from top to bottom; nothing need be set to run it.

Variables are read through `env` alone and listed in DEVELOPERS.md under "Settings" (a test compares the two).
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF

from farm.settings import env
from farm.settings.broker import broker, queues
from farm.settings.data import data_folder, given_push_key, push_key, secret_key
from farm.settings.database import database
from farm.settings.logs import FORMATS, formatter
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
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 90  # a phone in a barn should not ask for a password every fortnight
CSRF_COOKIE_HTTPONLY = True
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if TLS else 0
# Other names below this one may be other people's machines, still without TLS: they are not bound by ours.
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = False
SECURE_SSL_REDIRECT = TLS
# Whoever watches over the process asks it on its own machine, without TLS.
SECURE_REDIRECT_EXEMPT = [r"^(?:healthz|readyz|metrics)$"]
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CSP_REPORTS = "/csp-reports/"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
        # Browsers that know report-to pass report-uri over, but believe it over TLS alone.
        "report-uri": CSP_REPORTS,
        **({"report-to": "csp"} if TLS else {}),
    }
}

INSTALLED_APPS = [
    "farm",
    "farm.web",
    "calendars",
    "api",
    "tasks",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_htmx",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "ninja",  # for the files of the API's own pages
]
MIDDLEWARE = [
    "farm.web.watching.watched",  # outermost, so that it counts and times whatever answers
    "calendars.middleware.calendars_first",  # before all: a calendar is asked for without cookies or language
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "farm.web.csp_reports.name_the_endpoint",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "farm.web.bodies.Bounded",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "farm.web.second_step.gate.gate",
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
SILENCED_SYSTEM_CHECKS = [
    "auth.E003",  # e-mail is unique whatever its case, by a constraint on Lower(email), which the check doesn't know
    "security.W005",  # HSTS for names below ours: see SECURE_HSTS_INCLUDE_SUBDOMAINS
    "security.W021",  # HSTS preloading binds a whole domain for years; that is its owner's to decide
]
# What an authenticator app shows beside the e-mail address.
OTP_TOTP_ISSUER = "Featherdays"
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
STATIC_ROOT = Path(env.text("FEATHERDAYS_STATIC", str(DATA / "static"))).absolute()
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

# Backups: once a day, where a folder is named. PostgreSQL's need its client programs, so they are asked for.
_backups = env.text(
    "FEATHERDAYS_BACKUPS", str(DATA / "backups") if "sqlite3" in DATABASES["default"]["ENGINE"] else "off"
)
BACKUPS = "" if _backups == "off" else _backups

# Weather. Nothing is asked before a farm wants a forecast and somebody has said whom the service may write to.
FORECAST_URL = env.link(
    "FEATHERDAYS_FORECAST_URL", "https://api.met.no/weatherapi/locationforecast/2.0/complete"
)
FORECAST_CREDIT = env.text("FEATHERDAYS_FORECAST_CREDIT", "MET Norway, CC BY 4.0")
FORECAST_CONTACT = env.text("FEATHERDAYS_FORECAST_CONTACT")

# Messages to telephones.
PUSH_KEY = given_push_key(env.secret("FEATHERDAYS_PUSH_KEY")) or push_key(DATA)
PRIVATE_PUSH = env.flag("FEATHERDAYS_PRIVATE_PUSH")

# The largest file a farm may be brought from.
ARCHIVE_MB = env.number("FEATHERDAYS_ARCHIVE_MB", 100, low=1, high=2048)

# Off where a proxy compresses by itself.
CALENDAR_GZIP = env.flag("FEATHERDAYS_CALENDAR_GZIP", True)

# Background jobs: Celery reads what starts with CELERY_.
_redis = env.secret("REDIS_URL")
# With Redis there may be many machines; without it all processes share one data folder.
MANY_MACHINES = bool(_redis)
# What is counted against guessing is counted once for all web processes, where Redis is there to hold it.
CACHES = {
    "default": {"BACKEND": "farm.web.fallback_cache.FallbackCache", "LOCATION": _redis}
    if _redis
    # Many entries: a guesser at many e-mail addresses must not push out what is counted against them.
    else {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "OPTIONS": {"MAX_ENTRIES": 50_000}}
}
_broker = broker(_redis, DATA)
CELERY_BROKER_URL = _broker["url"]
CELERY_BROKER_TRANSPORT_OPTIONS = _broker["options"]
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_CONNECTION_MAX_RETRIES = None
CELERY_TASK_DEFAULT_QUEUE = "featherdays"
# What the sweep sends waits apart: thousands of farms at midnight must not stand before a reminder.
CELERY_TASK_QUEUES = queues("featherdays", "featherdays-sweep")
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
CELERY_BEAT_SCHEDULER = "tasks.beat:OneScheduler"

# Whoever watches over it: numbers for Prometheus, and how long a process may finish what it has begun.
METRICS = env.flag("FEATHERDAYS_METRICS")
METRICS_TOKEN = env.secret("FEATHERDAYS_METRICS_TOKEN")
METRICS_PORT = env.number("FEATHERDAYS_METRICS_PORT", 9108, low=1, high=65535)
STOP_SECONDS = env.number("FEATHERDAYS_STOP_SECONDS", 3, low=1, high=600)

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"chosen": formatter(env.choice("FEATHERDAYS_LOG_FORMAT", "line", FORMATS))},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "chosen"}},
    "root": {
        "handlers": ["stderr"],
        "level": env.choice("FEATHERDAYS_LOG", "WARNING", ("DEBUG", "INFO", "WARNING", "ERROR")),
    },
    # Django's own handlers would write the same lines again, unredacted.
    "loggers": {
        "django": {"handlers": [], "level": "NOTSET", "propagate": True},
        "django.server": {"handlers": []},
        # `tasks.watching` writes one line a job; Celery would write two more.
        "celery.worker.strategy": {"level": "WARNING"},
        "celery.app.trace": {"level": "WARNING"},
    },
}
