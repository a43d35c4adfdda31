//! Can each role do what is its own, and nothing else? Every call of the store that writes, as every
//! role; and what nobody may, behind the program's back.

use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

use binwright_catalog::{Currency, Machine, Quantity};
use binwright_store::{Bin, Keep, Movement, Place, Reason, Rest, Role, Store, StoreError, Writer};

use super::cluster::new_database;
use super::ground::meddle;
use super::suite::support::{movement, plate};
use super::worked::{self, DAY, Worked, eur, fill};

type Act = fn(&mut Writer<'_>, &Worked) -> Result<(), StoreError>;

/// Every call that writes: its name, who may (counter, bench, buyer, owner), what it does.
#[rustfmt::skip]
const CALLS: &[(&str, &str, Act)] = &[
    ("post", "CBPO", |w, _| w.post(&movement(0, 0, -1)).map(drop)),
    ("post_together", "CBPO", |w, _| w.post_together(&[movement(0, 0, 1)]).map(drop)),
    ("post_once", "CBPO", |w, _| w.post_once("k", &[movement(0, 0, 1)]).map(drop)),
    ("put_opening", "CBPO", |w, _| {
        w.put_opening(&Movement { reason: Reason::Opening, ..movement(1, 1, 1) }).map(drop)
    }),
    ("post_kit", "CBPO", |w, _| {
        w.post_kit("", &Movement { reason: Reason::Break, ..movement(2, 0, -1) }, "B0").map(drop)
    }),
    ("undo", "CBPO", |w, known| w.undo(known.sale, "Ann", movement(0, 0, 1).at, DAY).map(drop)),
    ("hold", "CBPO", |w, _| w.hold(&worked::hold(), DAY).map(drop)),
    ("release", "CBPO", |w, known| w.release(known.hold, DAY)),
    ("post_hold", "CBPO", |w, known| {
        w.post_hold(known.hold, Reason::Sale, "Ann", movement(0, 0, 1).at, DAY).map(drop)
    }),
    ("owe_core", "CBPO", |w, _| w.owe_core(&worked::debt()).map(drop)),
    ("settle_core", "CBPO", |w, known| {
        w.settle_core(&worked::settling(known.debt), movement(0, 0, 1).at, DAY).map(drop)
    }),
    ("draw_sheet", "C..O", |w, _| w.draw_sheet(&worked::sheet(), &[worked::place()]).map(drop)),
    ("count", "C..O", |w, known| w.count(known.sheet, &worked::counted())),
    ("post_sheet", "C..O", |w, known| {
        w.post_sheet(known.sheet, "", "Ann", movement(0, 0, 1).at, DAY).map(drop)
    }),
    ("drop_sheet", "C..O", |w, known| w.drop_sheet(known.sheet)),
    ("add_lost", "C..O", |w, _| w.add_lost("RP0001", "2031-03", Quantity::ONE).map(drop)),
    ("put_demand", "C..O", |w, _| w.put_demand(&worked::wanted("2031-02")).map(drop)),
    ("send", "C.PO", |w, _| w.send("", &worked::sending()).map(drop)),
    ("land", "C.PO", |w, known| w.land("", &worked::landing(known.transfer)).map(drop)),
    ("quote_add", ".B.O", |w, _| {
        w.quote_add("Carl", Machine::Alternator, "", &worked::revision(0), &[]).map(drop)
    }),
    ("quote_revise", ".B.O", |w, _| w.quote_revise("1", &worked::revision(0), &[]).map(drop)),
    ("quote_accept", ".B.O", |w, _| w.quote_accept("1", DAY).map(drop)),
    ("quote_issue", ".B.O", |w, _| {
        w.quote_issue("3", "Ann", movement(0, 0, 1).at, DAY, DAY).map(drop)
    }),
    ("quote_close", ".B.O", |w, _| {
        w.quote_close("4", &[worked::reading()], &["bearing-worn".to_owned()], "")
    }),
    ("quote_drop", ".B.O", |w, _| w.quote_drop("1", "too dear")),
    ("jobs_fill", ".BPO", |w, _| w.jobs_fill(DAY).map(drop)),
    ("put_price", "..PO", |w, _| w.put_price("RP0000", "", "retail", eur(1)).map(drop)),
    ("put_price of another list", "..PO", |w, _| {
        w.put_price("RP0000", "", "trade", eur(1)).map(drop)
    }),
    ("put_supplier", "..PO", |w, _| w.put_supplier(&worked::supplier(5)).map(drop)),
    ("put_offer", "..PO", |w, _| w.put_offer(&worked::offer(4)).map(drop)),
    ("drop_offers", "..PO", |w, _| w.drop_offers("Tarnbrook").map(drop)),
    ("draft_order", "..PO", |w, _| w.draft_order(&worked::order()).map(drop)),
    ("send_order", "..PO", |w, known| w.send_order(known.draft, DAY)),
    ("acknowledge_order", "..PO", |w, known| w.acknowledge_order(known.sent, "AB 1")),
    ("cancel_order", "..PO", |w, known| w.cancel_order(known.draft)),
    ("settle_line", "..PO", |w, known| w.settle_line(known.order, 1, Rest::Short, None, "")),
    ("receive", "..PO", |w, known| w.receive("note 2", &worked::receipt(known.order)).map(drop)),
    ("put_part", "...O", |w, _| w.put_part(&plate(9)).map(drop)),
    ("put_part that is there", "...O", |w, _| {
        let mut part = plate(0);
        part.description = "plate, new".into();
        w.put_part(&part).map(drop)
    }),
    ("put_cross", "...O", |w, _| {
        w.put_cross(&binwright_catalog::Cross { remark: String::new(), ..worked::contains() }).map(drop)
    }),
    ("put_unit", "...O", |w, _| w.put_unit(&worked::unit("AL 2")).map(drop)),
    ("put_bill_line", "...O", |w, _| w.put_bill_line(&worked::bill_line("regulator")).map(drop)),
    ("put_bin", "...O", |w, _| w.put_bin(&Bin { name: "B2".into(), ..Bin::default() }).map(drop)),
    ("put_branch", "...O", |w, _| w.put_branch("West").map(drop)),
    ("name_branch", "...O", |w, _| w.name_branch("North", "Far North")),
    ("put_branch_way", "...O", |w, _| w.put_branch_way(&worked::way(31)).map(drop)),
    ("share_own_files", "...O", |w, _| w.share_own_files(Path::new("tests/store")).map(drop)),
];

/// A shop that is not its superuser's, and its roles, each held by one login.
struct Chain {
    dir: tempfile::TempDir,
    database: String,
    founder: String,
    worked: Worked,
}

impl Chain {
    /// `None` where there is no server.
    fn make() -> Option<Self> {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let address = new_database()?;
        let (server, database) = address.rsplit_once('/')?;
        let founder = format!("founder_{}", COUNT.fetch_add(1, Ordering::Relaxed));
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("place"), &address).unwrap();
        meddle(
            dir.path(),
            &format!(
                "CREATE ROLE {founder} LOGIN CREATEROLE; ALTER DATABASE {database} OWNER TO {founder}"
            ),
        )
        .unwrap();
        let place = server.replace("postgres@", &format!("{founder}@"));
        fs::write(dir.path().join("founder"), format!("{place}/{database}")).unwrap();
        let founded = Place::named(format!("{place}/{database}").as_ref(), dir.path()).unwrap();
        let mut store = Store::create_at(&founded, "Test bench", Currency::EUR).unwrap();
        let worked = fill(&mut store);
        let held = store.put_roles().unwrap();
        let database = database.to_owned();
        for role in held {
            let login = format!("{database}_{}", role.role.word());
            let words = format!("CREATE ROLE {login} LOGIN; GRANT {} TO {login}", role.name);
            meddle(dir.path(), &words).unwrap();
        }
        Some(Self { dir, database, founder, worked })
    }

    fn login(&self, role: Role) -> String {
        format!("{}_{}", self.database, role.word())
    }

    fn address(&self, login: &str) -> String {
        let founder = fs::read_to_string(self.dir.path().join("founder")).unwrap();
        founder.replace(&format!("{}@", self.founder), &format!("{login}@"))
    }

    fn open(&self, login: &str) -> Result<Store, StoreError> {
        let place = Place::named(self.address(login).as_ref(), self.dir.path()).unwrap();
        Store::open_at(&place)
    }

    /// Says something to the server as `login`.
    fn say(&self, login: &str, words: &str) -> Result<(), postgres::Error> {
        postgres::Client::connect(&self.address(login), postgres::NoTls)?.batch_execute(words)
    }
}

#[test]
fn each_role_does_what_is_its_own_and_nothing_else() {
    let Some(chain) = Chain::make() else { return };
    for (role, letter) in Role::ALL.into_iter().zip(["C", "B", "P", "O"]) {
        let login = chain.login(role);
        let mut store = chain.open(&login).unwrap();
        for (call, may, act) in CALLS {
            let done = store.write_once(Keep::DryRun, |w| act(w, &chain.worked));
            match done {
                Ok(()) => assert!(may.contains(letter), "{call} as {role:?} was let through"),
                Err(StoreError::NotAllowed { ref user, .. }) => {
                    assert!(!may.contains(letter), "{call} as {role:?}: {}", done.unwrap_err());
                    assert_eq!(*user, login, "{call}");
                }
                Err(other) => panic!("{call} as {role:?}: {other}"),
            }
        }
        assert_eq!(store.check(DAY).unwrap(), [], "every role can prove the ledger");
    }
}

/// Else a call that is added later would be tried as nobody.
#[test]
fn no_call_that_writes_is_left_out_of_the_table() {
    let sources = ["src", "src/quotes"].map(|dir| Path::new(env!("CARGO_MANIFEST_DIR")).join(dir));
    let mut left_out = Vec::new();
    for file in sources.iter().flat_map(|dir| fs::read_dir(dir).unwrap()) {
        let path = file.unwrap().path();
        let Ok(text) = fs::read_to_string(&path) else { continue };
        let writers = text.split("\nimpl ").filter(|block| block.starts_with("Writer<'_>"));
        for call in writers.flat_map(|block| block.split("\n    pub fn ").skip(1)) {
            let (name, rest) = call.split_once('(').unwrap();
            let known = CALLS.iter().any(|(known, ..)| *known == name);
            if rest.trim_start().starts_with("&mut self") && !known {
                left_out.push(name.to_owned());
            }
        }
    }
    assert_eq!(left_out, [""; 0]);
}

#[test]
fn a_refusal_says_what_was_refused_as_whom_and_who_may() {
    let Some(chain) = Chain::make() else { return };
    let (counter, buyer) = (chain.login(Role::Counter), chain.login(Role::Buyer));
    let price = |w: &mut Writer<'_>| w.put_price("RP0000", "", "retail", eur(1));
    let refused = chain.open(&counter).unwrap().write(Keep::Yes, price).unwrap_err();
    let says = format!("`{counter}` may not change prices; buyer and owner may");
    assert_eq!(refused.to_string(), says);
    chain.open(&buyer).unwrap().write(Keep::Yes, price).unwrap();
    let quote = |w: &mut Writer<'_>| w.quote_drop("1", "");
    let refused = chain.open(&buyer).unwrap().write(Keep::Yes, quote).unwrap_err();
    assert_eq!(refused.to_string(), format!("`{buyer}` may not make quotes; bench and owner may"));
    let refused = chain.open(&counter).unwrap().put_roles().unwrap_err();
    assert_eq!(refused.to_string(), format!("`{counter}` may not put the roles; owner may"));
    let stranger = format!("{}_stranger", chain.database);
    meddle(chain.dir.path(), &format!("CREATE ROLE {stranger} LOGIN")).unwrap();
    let says =
        format!("`{stranger}` may not work in this shop; counter, bench, buyer and owner may");
    assert_eq!(chain.open(&stranger).unwrap_err().to_string(), says);
}

/// The ledger, the newest hash of each branch with it, the change log, and what else is only added to.
/// As every role, the one the tables belong to, whom only the owner can be, and the server's own.
#[test]
fn nobody_rewrites_what_is_only_added_to() {
    let Some(chain) = Chain::make() else { return };
    let heads = "seq IN (SELECT MAX(seq) FROM movement GROUP BY branch_id)";
    let acts = [
        "UPDATE movement SET who = 'Bob'".to_owned(),
        format!("UPDATE movement SET hash = '\\x00' WHERE {heads}"),
        format!("DELETE FROM movement WHERE {heads}"),
        "TRUNCATE movement CASCADE".to_owned(),
        "UPDATE change SET part_id = 1".to_owned(),
        "DELETE FROM change".to_owned(),
        "TRUNCATE change".to_owned(),
        "DELETE FROM core".to_owned(),
        "TRUNCATE core".to_owned(),
        "UPDATE quote_revision SET total = 1, net = 1, tax = 0, rounding = 0".to_owned(),
        "DELETE FROM quote_revision".to_owned(),
    ];
    let tables = format!("SET ROLE binwright_{}_tables;", chain.database);
    let owner = chain.login(Role::Owner);
    let mut ways: Vec<_> = Role::ALL.map(|role| (chain.login(role), "")).to_vec();
    ways.extend([(chain.founder.clone(), ""), ("postgres".into(), ""), (owner.clone(), &*tables)]);
    for (login, first) in &ways {
        for act in &acts {
            let refused = chain.say(login, &format!("{first} {act}")).unwrap_err();
            let code = refused.code().map(|code| code.code().to_owned());
            // By grant, or by trigger where grants do not count.
            let by_trigger = *login == "postgres" || !first.is_empty();
            let wanted = if by_trigger { "P0001" } else { "42501" };
            assert_eq!(code.as_deref(), Some(wanted), "{act} as {login} {first}: {refused}");
        }
    }
    // Nor does anybody who works there take the guard away, write past the calls or become another.
    let acts = [
        "ALTER TABLE movement DISABLE TRIGGER ALL",
        "DROP TRIGGER movement_stays ON movement",
        "DROP TABLE change",
        "CREATE TABLE own_notes (x BIGINT)",
        "UPDATE shop SET id = 'other'",
        "UPDATE shop SET granted = 0",
        "UPDATE hold SET quantity = 1",
        "UPDATE supply_line SET minor = 1",
        "UPDATE refinery_schema_history SET version = 1",
        "SELECT setval('part_part_id_seq', 1)",
        "UPDATE arrival SET freight = 0",
        "DELETE FROM transfer",
    ];
    for role in Role::ALL {
        for act in acts {
            let refused = chain.say(&chain.login(role), act).unwrap_err();
            let code = refused.code().map(|code| code.code().to_owned());
            assert_eq!(code.as_deref(), Some("42501"), "{act} as {role:?}: {refused}");
        }
        let is_owner = chain.say(&chain.login(role), &tables).is_ok();
        assert_eq!(is_owner, role == Role::Owner, "who may be the tables' role");
    }
    assert_eq!(chain.open(&owner).unwrap().check(DAY).unwrap(), []);
}

#[test]
fn roles_are_put_again_by_the_owner_and_come_to_the_same() {
    let Some(chain) = Chain::make() else { return };
    let owner = chain.login(Role::Owner);
    let first = chain.open(&chain.founder).unwrap().put_roles().unwrap();
    let again = chain.open(&owner).unwrap().put_roles().unwrap();
    assert_eq!(first, again);
    assert_eq!(again[3].name, format!("binwright_{}_owner", chain.database));
    assert_eq!(again[3].held_by, [chain.founder.clone(), owner]);
    assert_eq!(again[0].held_by, [chain.login(Role::Counter)]);
    // Roles outlive a database: a shop that is made anew under its name takes them over.
    let address = chain.address("postgres").replace(&format!("/{}", chain.database), "/postgres");
    let mut server = postgres::Client::connect(&address, postgres::NoTls).unwrap();
    let name = &chain.database;
    server.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)")).unwrap();
    server.batch_execute(&format!("CREATE DATABASE {name} OWNER {}", chain.founder)).unwrap();
    let founded = chain.address(&chain.founder);
    let founded = Place::named(founded.as_ref(), chain.dir.path()).unwrap();
    let mut store = Store::create_at(&founded, "Test bench", Currency::EUR).unwrap();
    assert_eq!(store.put_roles().unwrap(), again);
    // A shop in another database of this server has roles of its own.
    let other = Chain::make().unwrap();
    let refused = other.open(&chain.login(Role::Owner)).unwrap_err();
    assert!(matches!(refused, StoreError::NotAllowed { .. }), "{refused}");
}

/// A store of version 8 is made here by hand: what later steps made is taken away.
#[test]
fn an_older_store_waits_for_its_owner_who_brings_it_and_its_grants_up_to_date() {
    let Some(chain) = Chain::make() else { return };
    let (bench, owner) = (chain.login(Role::Bench), chain.login(Role::Owner));
    let stamped = "branch branch_way part unit cross_reference bill_line bin price balance hold";
    let bare = |table: &str| format!("ALTER TABLE {table} DROP turn;");
    let back = format!(
        "ALTER TABLE supply_order DROP branch_id; DROP FUNCTION tell, stamp CASCADE; {}
         DROP TRIGGER change_stays ON change; ALTER TABLE shop DROP granted;
         DELETE FROM refinery_schema_history WHERE version > 8",
        stamped.split(' ').map(bare).collect::<String>()
    );
    meddle(chain.dir.path(), &back).unwrap();
    let refused = chain.open(&bench).unwrap_err();
    assert!(matches!(refused, StoreError::TooOld { found: 8, .. }), "{refused}");
    drop(chain.open(&owner).unwrap());
    drop(chain.open(&bench).unwrap());
    assert!(meddle(chain.dir.path(), "DELETE FROM change").is_err(), "the step was done anew");
    // As after a step that brought tables: they have no grants, until the owner has opened the shop.
    let bare = format!(
        "UPDATE shop SET granted = 8; REVOKE ALL ON quote FROM binwright_{}_bench",
        chain.database
    );
    meddle(chain.dir.path(), &bare).unwrap();
    let look =
        |login: &str| chain.open(login).and_then(|store| store.quotes(None)).map(|all| all.len());
    assert!(matches!(look(&bench), Err(StoreError::NotAllowed { .. })));
    assert_eq!(look(&owner).unwrap(), 5);
    assert_eq!(look(&bench).unwrap(), 5);
}

/// Whoever adds a table says in the same step who may write it, and numbers are given by the table.
#[test]
fn every_table_has_a_line_of_grants_and_no_sequence_stands_alone() {
    let Some(chain) = Chain::make() else { return };
    let grants =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schema/store/postgresql/grants.sql");
    let grants = fs::read_to_string(grants).unwrap();
    let lines: Vec<_> = grants.lines().filter(|line| line.starts_with("GRANT ")).collect();
    let mut client =
        postgres::Client::connect(&chain.address("postgres"), postgres::NoTls).unwrap();
    let mut named = |query: &str| -> Vec<String> {
        client.query(query, &[]).unwrap().iter().map(|row| row.get(0)).collect()
    };
    let tables = named(
        "SELECT CAST(relname AS TEXT) FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace
           AND relname <> 'refinery_schema_history'",
    );
    assert_eq!(tables.len(), lines.len(), "a line a table");
    for table in tables {
        let of_table: Vec<_> =
            lines.iter().filter(|line| line.contains(&format!(" ON {table} TO "))).collect();
        assert_eq!(of_table.len(), 1, "lines of {table}");
        assert!(of_table[0].contains("; -- "), "{table}: what is refused, in words");
    }
    let alone = named(
        "SELECT CAST(c.relname AS TEXT) FROM pg_class c WHERE c.relkind = 'S' AND c.relnamespace = 'public'::regnamespace
           AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'i')",
    );
    assert_eq!(alone, [""; 0], "sequences that are no table's own");
}
