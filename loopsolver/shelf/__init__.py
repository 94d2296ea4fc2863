"""Parts of open standard sizes: data files, a source beside every number."""
