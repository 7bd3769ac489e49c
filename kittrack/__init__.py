"""kittrack: matched rotor sets and fastener kits, by lot and by spin sense, traced to the airframe."""

__version__ = "0.1.0"
