//! What can a person do in a shop: the use-cases, one module a desk.
