-- Who may write what? One line a table, with the words for it when it is refused; who may write anything
-- may read everything. What no line grants nobody may: a movement and the change log are only added to.
-- The shop's roles take the place of the words in braces. Put anew after each migration.
GRANT UPDATE (turn) ON shop TO {counter}, {bench}, {buyer}, {owner}; -- write here
GRANT INSERT, UPDATE (key) ON turn_kept TO {counter}, {bench}, {buyer}, {owner}; -- write here
GRANT INSERT ON movement TO {counter}, {bench}, {buyer}, {owner}; -- move stock
GRANT INSERT, UPDATE (on_hand) ON balance TO {counter}, {bench}, {buyer}, {owner}; -- move stock
GRANT INSERT, UPDATE (on_hand, value) ON worth TO {counter}, {bench}, {buyer}, {owner}; -- move stock
GRANT INSERT, UPDATE (until_day, state) ON hold TO {counter}, {bench}, {buyer}, {owner}; -- hold stock
GRANT INSERT ON core TO {counter}, {bench}, {buyer}, {owner}; -- write down old parts
GRANT INSERT, UPDATE (state) ON count_sheet TO {counter}, {owner}; -- count stock
GRANT INSERT, UPDATE (times, counted, book, after_seq, counter) ON count_line TO {counter}, {owner}; -- count stock
GRANT INSERT, UPDATE (quantity) ON demand TO {counter}, {owner}; -- note what was asked for
GRANT INSERT ON transfer TO {counter}, {buyer}, {owner}; -- send stock to another branch
GRANT INSERT ON transfer_arrival TO {counter}, {buyer}, {owner}; -- take in stock of another branch
GRANT INSERT, UPDATE (state, note) ON quote TO {bench}, {owner}; -- make quotes
GRANT INSERT ON quote_revision TO {bench}, {owner}; -- make quotes
GRANT INSERT ON quote_line TO {bench}, {owner}; -- make quotes
GRANT INSERT, DELETE ON quote_reading TO {bench}, {owner}; -- make quotes
GRANT INSERT ON quote_fault TO {bench}, {owner}; -- close jobs
GRANT INSERT ON quote_hold TO {bench}, {buyer}, {owner}; -- hold stock for jobs
GRANT INSERT, UPDATE (minor, currency) ON price TO {buyer}, {owner}; -- change prices
GRANT INSERT, UPDATE (name, address, currency, rate, order_minimum, freight, free_from, lead_days) ON supplier TO {buyer}, {owner}; -- change suppliers
GRANT INSERT, UPDATE (pack, minimum, lead_days), DELETE ON offer TO {buyer}, {owner}; -- change offers
GRANT INSERT, UPDATE (minor), DELETE ON offer_break TO {buyer}, {owner}; -- change offers
GRANT INSERT, UPDATE (state, sent_day, theirs) ON supply_order TO {buyer}, {owner}; -- write orders
GRANT INSERT, UPDATE (rest, due_day, note) ON supply_line TO {buyer}, {owner}; -- write orders
GRANT INSERT ON arrival TO {buyer}, {owner}; -- take in what was ordered
GRANT INSERT, UPDATE (house, kind, description, maker, issue, measures, layout) ON part TO {owner}; -- change parts
GRANT INSERT, DELETE ON number TO {owner}; -- change parts
GRANT INSERT ON change TO {owner}; -- change parts
GRANT INSERT, UPDATE (quantity, remark) ON cross_reference TO {owner}; -- change crosses
GRANT INSERT, UPDATE (number, machine, description, maker, volts, amps) ON unit TO {owner}; -- change units
GRANT INSERT, UPDATE (quantity, remark) ON bill_line TO {owner}; -- change bills
GRANT INSERT, UPDATE (name, aisle, description, holds_most, branch_id) ON bin TO {owner}; -- change bins
GRANT INSERT, UPDATE (name, folded) ON branch TO {owner}; -- change branches
GRANT INSERT, UPDATE (minutes, minor) ON branch_way TO {owner}; -- change branches
GRANT INSERT, DELETE ON own_file TO {owner}; -- share settings
