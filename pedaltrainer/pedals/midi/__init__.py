"""MIDI inputs and outputs: ports that come and go, messages, lights."""
