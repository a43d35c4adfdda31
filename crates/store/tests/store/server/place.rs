//! How is a server named, and where does its password come from?

use std::ffi::OsString;
use std::fs;
use std::os::unix::fs::PermissionsExt;

use binwright_store::{Place, Server, StoreError};

fn named(address: &str) -> Result<Place, StoreError> {
    Place::named(address.as_ref(), "desk".as_ref())
}

fn server(address: &str) -> Server {
    match named(address).unwrap() {
        Place::Server(server) => *server,
        Place::Folder(dir) => panic!("{}", dir.display()),
    }
}

#[test]
fn an_address_is_a_server_and_anything_else_a_folder() {
    assert!(matches!(named("postgresql://ann@db.example/chain"), Ok(Place::Server(_))));
    assert!(matches!(named("postgres://db.example/chain?sslmode=disable"), Ok(Place::Server(_))));
    for folder in ["shop", "/srv/shop", "postgresql:shop", "./postgresql://x"] {
        assert!(matches!(named(folder), Ok(Place::Folder(_))), "{folder}");
    }
}

#[test]
fn a_password_in_the_address_is_refused_and_never_repeated() {
    let at = "db.example/chain";
    for address in
        [format!("postgresql://ann:s3cret@{at}"), format!("postgresql://ann@{at}?password=s3cret")]
    {
        let refused = named(&address).unwrap_err();
        assert!(matches!(refused, StoreError::PasswordInAddress), "{refused}");
        assert!(!format!("{refused} {refused:?} {:?}", refused.hint()).contains("s3cret"));
    }
    let mut known = server("postgresql://ann@db.example/chain");
    known.set_password("s3cret");
    assert_eq!(known.to_string(), "postgresql://db.example:5432/chain");
    assert!(!format!("{known:?}").contains("s3cret"));
}

/// The words and what they ask are the standard client's: PostgreSQL 15, "SSL Support", table 34.1.
#[test]
fn trust_without_anybody_to_trust_is_refused() {
    for mode in ["verify-ca", "verify-full", "perhaps"] {
        let refused = named(&format!("postgresql://db.example/chain?sslmode={mode}"));
        assert!(matches!(refused, Err(StoreError::Address { .. })), "{mode}");
        assert!(
            mode == "perhaps"
                || named(&format!(
                    "postgresql://db.example/chain?sslmode={mode}&sslrootcert=root.crt"
                ))
                .is_ok(),
            "{mode}"
        );
    }
}

/// The file's form is the standard client's: PostgreSQL 15, "The Password File". A server that lets
/// everybody in does not ask, so what was found is seen in the error of one that is not there alone.
#[test]
fn a_password_file_that_others_may_read_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("words");
    fs::write(&file, "*:*:*:*:s3cret\n").unwrap();
    let variable = |name: &str| (name == "PGPASSFILE").then(|| OsString::from(&file));
    for (mode, good) in [(0o600, true), (0o640, false), (0o604, false)] {
        fs::set_permissions(&file, fs::Permissions::from_mode(mode)).unwrap();
        let mut server = server("postgresql://ann@db.example/chain");
        let looked = server.look_up_password(variable);
        assert_eq!(looked.is_ok(), good, "{mode:o}: {looked:?}");
    }
}
