"""Records as they are, to read: actions stay the only door to change anything."""

from django.apps import apps
from django.contrib import admin
from django.http import HttpRequest

OURS = ("works", "selection", "schedule", "quality", "orders")
HIDDEN = {"password", "secret_sha256", "content"}


class ReadOnly(admin.ModelAdmin):
    """A look at rows without any way to change them."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: object | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: object | None = None) -> bool:
        return False

    def has_view_permission(self, request: HttpRequest, obj: object | None = None) -> bool:
        return request.user.is_active and request.user.is_superuser

    def get_exclude(self, request: HttpRequest, obj: object | None = None) -> list[str]:
        return [f.name for f in self.model._meta.fields if f.name in HIDDEN]


for label in OURS:
    for model in apps.get_app_config(label).get_models():
        admin.site.register(model, ReadOnly)
