"""What Django's own account does not say: until when a helper helps."""

from django.conf import settings
from django.db import models


class HelperTerm(models.Model):
    """The last day on which a helper can sign in."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="helper_term")
    until = models.DateField()

    def __str__(self) -> str:
        return f"{self.user} until {self.until}"
