"""Root routes: pages, the API, its documents, the operators' admin, and what machines ask."""

from django.contrib import admin
from django.templatetags.static import static
from django.urls import include, path
from django.views.generic import RedirectView

from api.invitation_page import InvitationPage
from deploy.observability import healthz, metrics, readyz

urlpatterns = [
    path("", include("maintenance.pages.urls")),
    # One door, so that there is one lock.
    path(
        "admin/login/",
        RedirectView.as_view(pattern_name="sign-in", query_string=True),
        name="operators-sign-in",
    ),
    path("admin/", admin.site.urls),
    path("api/", include("api.urls")),
    path("invitations/<str:secret>", InvitationPage.as_view(), name="invitation"),
    # Asked for by browsers where a page names no picture, as the operators' do.
    path("favicon.ico", RedirectView.as_view(url=static("pages/icon.svg")), name="icon"),
    path("healthz", healthz, name="healthz"),
    path("readyz", readyz, name="readyz"),
    path("metrics", metrics, name="metrics"),
]

handler400 = "deploy.errors.bad_request"
handler403 = "deploy.errors.forbidden"
handler404 = "deploy.errors.not_found"
handler500 = "deploy.errors.server_error"
