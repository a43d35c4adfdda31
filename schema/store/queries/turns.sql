SELECT turn FROM shop
