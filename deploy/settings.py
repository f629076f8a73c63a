"""Settings, all read from the environment; a `.env` file beside manage.py is read if present.

There is no usable secret by default and DEBUG is off: `deploy/demo` makes a secret of its own.
"""

from datetime import timedelta
from pathlib import Path

import environ

from deploy.logs import logging_config

BASE_DIR = Path(__file__).resolve().parent.parent

env = environ.Env()
environ.Env.read_env(BASE_DIR / ".env")

SECRET_KEY = env.str("SECRET_KEY", default="")
SECRET_KEY_FALLBACKS = env.list("SECRET_KEY_FALLBACKS", default=[])
DEBUG = env.bool("DEBUG", default=False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost", "[::1]"])
CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])

# fields.W161 means a default taken from the clock; it also comes, for some seconds of each day, of
# quiet hours that begin at a fixed hour, and what reads the clock by mistake the linter refuses.
SILENCED_SYSTEM_CHECKS = ["fields.W161"]

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "csp",
    "axes",
    "maintenance",
    "api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    # Before whatever answers by itself, static files and redirects among it.
    "deploy.headers.ContentSecurityPolicy",
    "deploy.headers.other_headers",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "deploy.operators.OperatorsSeeEverything",
    "axes.middleware.AxesMiddleware",
    "api.rate_limits.told",
]

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

DATABASES = {
    "default": env.db_url("DATABASE_URL", default=f"sqlite:///{BASE_DIR / 'idle_years.sqlite3'}")
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # Without IMMEDIATE two writers can both read, then one fails when it upgrades its lock.
    DATABASES["default"]["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "maintenance.Account"
# The first refuses who has guessed too often, the second looks at the password.
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
LOGIN_URL, LOGIN_REDIRECT_URL, LOGOUT_REDIRECT_URL = "sign-in", "start", "sign-in"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
# Served straight from the installed packages, so that no collectstatic step is needed.
STATIC_ROOT = None
WHITENOISE_USE_FINDERS = True

# How many of one's own reverse proxies stand in front. What the last ones wrote about the client's
# address and TLS is believed; without any, nothing of it is, for then a client writes it.
TRUSTED_PROXIES = env.int("TRUSTED_PROXIES", default=0)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if TRUSTED_PROXIES else None
SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", default=False)
# Asked from within, by who holds no certificate.
SECURE_REDIRECT_EXEMPT = [r"^(healthz|readyz)$"]
SECURE_HSTS_SECONDS = env.int("SECURE_HSTS_SECONDS", default=0)
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("SECURE_HSTS_INCLUDE_SUBDOMAINS", default=False)
SECURE_HSTS_PRELOAD = env.bool("SECURE_HSTS_PRELOAD", default=False)
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = env.bool("SECURE_COOKIES", default=False)
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = env.int("SESSION_HOURS", default=14 * 24) * 3600
if SESSION_COOKIE_SECURE:
    # No other host of the domain can set a cookie of such a name.
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-sessionid", "__Host-csrftoken"
PASSWORD_RESET_TIMEOUT = env.int("PASSWORD_LINK_HOURS", default=4) * 3600

# Guessing passwords: `maintenance.services.sign_in` counts, these say where it ends. A lock is
# not made longer by trying on.
AXES_HANDLER = "maintenance.services.sign_in.FailureLedger"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = env.int("SIGN_IN_FAILURES", default=5)
SIGN_IN_FAILURES_OF_ADDRESS = env.int("SIGN_IN_FAILURES_OF_ADDRESS", default=50)
AXES_COOLOFF_TIME = timedelta(minutes=env.int("SIGN_IN_LOCK_MINUTES", default=15))
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_RESET_ON_SUCCESS = True
AXES_CLIENT_IP_CALLABLE = "maintenance.services.client_address.client_address"
AXES_LOCKOUT_CALLABLE = "maintenance.pages.sign_in.locked_out"
# No log names a person; and people type their password where their name belongs.
AXES_SENSITIVE_PARAMETERS = ["username", "ip_address", "csrfmiddlewaretoken"]
AXES_VERBOSE = False
AXES_DISABLE_ACCESS_LOG = True
AXES_ENABLE_ADMIN = False

CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", default="")
CELERY_VISIBILITY_TIMEOUT = env.int("CELERY_VISIBILITY_TIMEOUT", default=900)
# How often reminders are looked for, and how often what waits is sent [s].
REMINDER_FIND_EVERY = env.float("REMINDER_FIND_SECONDS", default=300.0)
REMINDER_SEND_EVERY = env.float("REMINDER_SEND_SECONDS", default=60.0)

# Reminders. Without EMAIL_URL nothing is sent and nothing is lost: what is due waits.
EMAIL_URL = env.str("EMAIL_URL", default="")
vars().update(env.email_url_config(EMAIL_URL or "smtp://localhost"))
EMAIL_TIMEOUT = env.int("EMAIL_TIMEOUT", default=10)
DEFAULT_FROM_EMAIL = env.str("FROM_EMAIL", default="Idle Years <idle-years@localhost>")
# Where members reach this service; stands in e-mails. One-click unsubscribe needs https.
PUBLIC_URL = env.str("PUBLIC_URL", default="http://127.0.0.1:8000")
# A message taken by a worker that died is free again after this. Longer than a worker's time limit.
REMINDER_LEASE = timedelta(seconds=env.int("REMINDER_LEASE_SECONDS", default=600))
# How long a token lasts where nothing is said, and how long at most [days].
TOKEN_DAYS = env.int("TOKEN_DAYS", default=90)
TOKEN_DAYS_LIMIT = env.int("TOKEN_DAYS_LIMIT", default=366)
# Bearer token for /metrics; without one there are no metrics.
METRICS_TOKEN = env.str("METRICS_TOKEN", default="")

# The largest history file taken in one go, in bytes; ten years of a dozen cars take about 0.3 MB.
HISTORY_FILE_LIMIT = env.int("HISTORY_FILE_LIMIT", default=20 * 1024 * 1024)
# The same for a spreadsheet, and how many rows it may have.
SPREADSHEET_FILE_LIMIT = env.int("SPREADSHEET_FILE_LIMIT", default=40 * 1024 * 1024)
SPREADSHEET_ROW_LIMIT = env.int("SPREADSHEET_ROW_LIMIT", default=200_000)
# Where invoices and photographs are kept, and the largest taken [bytes]. Nothing serves them but
# the API, which asks who may see the car.
MEDIA_ROOT = env.str("FILES_DIR", default=str(BASE_DIR / "var"))
ATTACHMENT_LIMIT = env.int("ATTACHMENT_LIMIT", default=10 * 1024 * 1024)
# How often a token (or account, in a browser) may read and write, a calendar feed be fetched, and
# one network address ask without a token or with a wrong one. Nothing where empty. Counted in each
# process by itself unless RATE_LIMIT_STORAGE or the broker is a Redis server.
RATE_LIMITS = {
    "reads": env.str("RATE_LIMIT_READS", default="12000/hour"),
    "writes": env.str("RATE_LIMIT_WRITES", default="3000/hour"),
    "calendar": env.str("RATE_LIMIT_CALENDAR", default="240/hour"),
    "anonymous": env.str("RATE_LIMIT_ANONYMOUS", default="1200/hour"),
    "bad-tokens": env.str("RATE_LIMIT_BAD_TOKENS", default="60/hour"),
}
RATE_LIMIT_STORAGE = env.str(
    "RATE_LIMIT_STORAGE",
    default=CELERY_BROKER_URL if CELERY_BROKER_URL.startswith("redis") else "memory://",
)
# How long the feed of changes reaches back [days].
CHANGES_KEPT_DAYS = env.int("CHANGES_KEPT_DAYS", default=90)
DATA_UPLOAD_MAX_MEMORY_SIZE = env.int("REQUEST_BODY_LIMIT", default=5 * 1024 * 1024)

# Whether only staff may found collections; otherwise whoever has an account may.
FOUNDED_BY_STAFF_ALONE = env.bool("FOUNDED_BY_STAFF_ALONE", default=False)

# How long an invitation can be accepted, unless it says otherwise [days].
INVITATION_DAYS = env.int("INVITATION_DAYS", default=14)
# How long a car stays on offer to another keeper or collection, unless the offer says otherwise.
TRANSFER_DAYS = env.int("TRANSFER_DAYS", default=30)

# Hosts that webhooks may reach by HTTP and at private addresses, such as a program on the same
# machine; every other host must have public addresses and speak HTTPS.
WEBHOOK_ALLOWED_HOSTS = env.list("WEBHOOK_ALLOWED_HOSTS", default=[])

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["api.rendering.OrjsonRenderer"],
    "DEFAULT_PARSER_CLASSES": ["api.parsing.StrictJSONParser"],
    "DEFAULT_PAGINATION_CLASS": "api.paging.KeysetPagination",
    "DEFAULT_THROTTLE_CLASSES": ["api.rate_limits.PerCaller"],
    "DEFAULT_FILTER_BACKENDS": ["api.filters.StrictFilterBackend"],
    "DEFAULT_SCHEMA_CLASS": "api.openapi.NounSchema",
    "EXCEPTION_HANDLER": "api.problems.problem_details",
    "COERCE_DECIMAL_TO_STRING": False,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
    # Otherwise `?format=` would be taken as a parameter of every address.
    "URL_FORMAT_OVERRIDE": None,
}

SPECTACULAR_SETTINGS = {
    "TITLE": "Idle Years",
    "DESCRIPTION": (
        "Service history of cars that stand for long, and what falls due on them and why. "
        "Dates are local calendar days of the collection; instants are UTC. What falls due is "
        "worked out from what was recorded; local law and the maker's handbook go before it."
    ),
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "api.openapi.every_member",
    ],
    "ENUM_NAME_OVERRIDES": {
        "Criticality": "maintenance.models.IntervalRule.Criticality",
        "TokenScope": "maintenance.models.AccessToken.Scope",
        "FeedScope": "maintenance.models.CalendarFeed.Scope",
        "Task": "maintenance.models.IntervalRule.Task",
        "Weekday": "maintenance.services.plans.terms.WEEKDAYS",
        "WishTask": "maintenance.services.checks.plans.WISHES",
        "CriterionName": "maintenance.models.DueItem.GovernedBy",
        "DistanceUnit": "maintenance.models.collections.DistanceUnit.choices",
        "CalendarForm": "maintenance.models.CalendarFeed.Form",
        "FileForm": "maintenance.models.file_jobs.FileForm.choices",
        "InvitationState": "maintenance.models.Invitation.State",
        "TransferState": "maintenance.models.Transfer.State",
        "JobState": "maintenance.models.file_jobs.FileJob.State",
    },
}

LOGGING = logging_config(env.str("LOG_LEVEL", default="WARNING"))
