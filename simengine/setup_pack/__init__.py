"""The set-up pack: what it takes on paper to lay out, brief, run and clear a scenario."""

from simengine.setup_pack.write_pack import write_setup_pack

__all__ = ["write_setup_pack"]
