"""Pages from advice: text, JSON, CSV, HTML and figures. Nothing here computes advice."""
