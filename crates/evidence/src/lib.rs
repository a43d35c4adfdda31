//! How do observations weigh hypotheses, and which observation should be made next?
