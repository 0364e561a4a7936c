"""What the settings of a home say of its shop, put together: the table, the broker, the outbox."""

from collections.abc import Callable

from logger.errors import BadInput
from logger.settings.file import ShopSettings, load_settings
from logger.settings.settings import Home

from .outbox import Outbox, Status
from .outboxtrail import CursorFile, TrailSource
from .secretstore import password_of
from .topics import BenchTopics
from .wiremqtt import MqttBroker, broker_of


def shop_of(home: Home) -> ShopSettings:
    """Return the [shop] table of a home; BadInput where there is none, since nothing would ever answer."""
    settings = load_settings(home.folder)
    if "shop" not in settings.model_fields_set:
        raise BadInput("No shop is set up here.", f"Write the table [shop] into {home.folder / 'settings.toml'}.")
    return settings.shop


def broker_as(home: Home, shop: ShopSettings, client: str, user: str) -> MqttBroker:
    """Return the shop's broker as this client with the secret of this user; BadInput where it cannot be used."""
    return broker_of(shop, password_of(home.folder, shop, user), client, user)


def outbox_of(home: Home, told: Callable[[Status], None]) -> Outbox:
    """Return the outbox of this home's trail, by its settings; BadInput when they or the trail are not there."""
    shop = shop_of(home)
    broker = broker_as(home, shop, shop.bench, shop.bench)
    topics = BenchTopics(shop.name, shop.bench)
    return Outbox(TrailSource(home.trail), broker, topics, CursorFile(home.folder / "outbox.json"), told=told)
