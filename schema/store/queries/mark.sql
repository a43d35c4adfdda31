SELECT turn, at FROM mark
