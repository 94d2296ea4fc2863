"""Pure geometry: directions, frames, solids and distances. Knows nothing of tubes."""
