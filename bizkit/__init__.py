"""bizkit: the business side of outdoor and underwater film and photo work.

`bizkit.load`, `bizkit.price`, `bizkit.quote` and `bizkit.render` do without a studio folder; they and the classes of
what they read are imported when first asked for, see `bizkit.front_door`.
"""

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from bizkit.front_door import Brief, Client, RateCard, Studio, load, price, quote, render

__all__ = ["Brief", "Client", "RateCard", "Studio", "load", "price", "quote", "render"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'bizkit' has no attribute {name!r}")
    from bizkit import front_door

    return getattr(front_door, name)
