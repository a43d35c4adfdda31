//! What goes on paper: outlines at true scale, labels, sheets, quotes and orders.
