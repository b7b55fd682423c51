"""What the sound says: pure functions from audio to evidence. Knows nothing of where evidence is kept."""
