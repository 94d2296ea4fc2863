"""Why a run has no route, and what would give it one: every suggestion is tried."""
