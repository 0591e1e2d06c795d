"""What a tablet on the gym floor sends: acts, each stored once, in a transaction of its own."""

from skills.services.floor.acts import Act, Refused, Stored
from skills.services.floor.taking import take_act

__all__ = ["Act", "Refused", "Stored", "take_act"]
