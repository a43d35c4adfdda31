//! What does a person see: the screens, over the shop.
