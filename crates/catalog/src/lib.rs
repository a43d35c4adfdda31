//! What is a part: kinds, measures, layouts, numbers, crosses, units, bills, money and quantity.
