//! Where do the tests get a server from? Their own, made when the first test asks for it and gone with
//! the process; on loopback, in a temporary folder.

use std::io::Write;
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// Makes the cluster and keeps it until standard input ends, as it does with the process of the tests.
/// Text is not ordered by its bytes here, so that a column which forgets to say so is found. Nothing
/// waits for the disk: it is processes that are killed, not the machine.
const KEEP: &str = r#"
"$1/initdb" -D "$2/data" -U postgres -A trust -E UTF8 --locale=C.UTF-8 \
    --locale-provider=icu --icu-locale=en-US -N >"$2/log" 2>&1 || exit
"$1/postgres" -D "$2/data" -p "$3" -c listen_addresses=127.0.0.1 -c unix_socket_directories= \
    -c fsync=off -c max_connections=200 >>"$2/log" 2>&1 &
read -r _
kill -INT $!
wait
rm -rf "$2"
"#;

/// The server of this process.
struct Cluster {
    port: u16,
    _keeper: Child,
}

/// The address of a new, empty database; `None` where no server is installed.
pub fn new_database() -> Option<String> {
    static CLUSTER: OnceLock<Option<Cluster>> = OnceLock::new();
    static COUNT: AtomicUsize = AtomicUsize::new(0);
    let Cluster { port, .. } = CLUSTER.get_or_init(start).as_ref()?;
    let name = format!("shop_{}", COUNT.fetch_add(1, Ordering::Relaxed));
    let address = |name: &str| format!("postgresql://postgres@127.0.0.1:{port}/{name}");
    let mut client = postgres::Client::connect(&address("postgres"), postgres::NoTls).unwrap();
    client.batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
    Some(address(&name))
}

/// The folder of the server's programs: Debian keeps them out of the path. `STORE_POSTGRES` names
/// another, or none.
fn programs() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os("STORE_POSTGRES") {
        return Some(PathBuf::from(named)).filter(|dir| dir.join("initdb").exists());
    }
    let versions = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let debian = versions.map(|version| version.path().join("bin"));
    let path = std::env::var_os("PATH").unwrap_or_default();
    let all: Vec<_> = debian.chain(std::env::split_paths(&path)).collect();
    all.into_iter().find(|dir| dir.join("initdb").exists() && dir.join("postgres").exists())
}

fn start() -> Option<Cluster> {
    let Some(programs) = programs() else {
        let said =
            "no PostgreSQL here: the suite runs on a file once more, the line is passed over";
        let mut err = std::io::stderr();
        writeln!(err, "{said}").unwrap();
        return None;
    };
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let dir = tempfile::tempdir().unwrap().keep();
    let mut command = keeper(&dir);
    command.args(["-c", KEEP, "sh"]).arg(programs).arg(&dir).arg(port.to_string());
    let keeper = command.stdin(Stdio::piped()).spawn().unwrap();
    let address = format!("postgresql://postgres@127.0.0.1:{port}/postgres");
    let until = Instant::now() + Duration::from_mins(1);
    while let Err(error) = postgres::Client::connect(&address, postgres::NoTls) {
        let log = || std::fs::read_to_string(dir.join("log")).unwrap_or_default();
        assert!(Instant::now() < until, "no server came up: {error}\n{}", log());
        std::thread::sleep(Duration::from_millis(100));
    }
    Some(Cluster { port, _keeper: keeper })
}

/// The shell that keeps the cluster in `dir`; a server does not run as root.
fn keeper(dir: &Path) -> Command {
    let id = Command::new("id").arg("-u").output().unwrap();
    if id.stdout != b"0\n" {
        return Command::new("sh");
    }
    assert!(Command::new("chown").arg("postgres").arg(dir).status().unwrap().success());
    let mut command = Command::new("setpriv");
    command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups", "sh"]);
    command
}
