-- 0010 look-up
-- Why      Numbered in step with the server's, whose tables learn to say what of them changed since when.
--          A file is read where it lies and needs nothing for it.
-- Keeps    What it kept.
-- Log      Nothing.
-- Back     None. A program that knows only 0009 refuses this store and says which version reads it.
SELECT 1;
