"""The channels there are."""

from maintenance.reminders.channels.contract import Channel
from maintenance.reminders.channels.email import EmailChannel
from maintenance.reminders.channels.webhook import WebhookChannel

CHANNELS: dict[str, Channel] = {
    channel.slug: channel for channel in (EmailChannel(), WebhookChannel())
}
