//! Where do the tests get a server from? Their own, made when a test asks for it and gone with the
//! process; on loopback, in a temporary folder.

use std::ffi::OsStr;
use std::io::Write;
use std::net::TcpListener;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Removes the cluster in `$2` when standard input ends, as it does with the process of the tests.
const KEEP: &str = r#"
read -r _
"$1/pg_ctl" -D "$2/data" -s -m immediate stop 2>/dev/null
rm -rf "$2"
"#;

/// What every server is told; what else, each test says. It is processes that are killed, not the
/// machine, so that nothing has to wait for the disk.
const TOLD: &str =
    "-c listen_addresses=127.0.0.1 -c unix_socket_directories= -c max_connections=200";
/// A server that does not wait for the disk.
pub const FAST: &str = "-c fsync=off";

/// A server.
pub struct Cluster {
    pub port: u16,
    pub programs: PathBuf,
    dir: PathBuf,
    told: String,
    _keeper: Child,
}

/// The address of a new, empty database of the server that tests share; `None` where none is installed.
pub fn new_database() -> Option<String> {
    static SHARED: OnceLock<Option<Cluster>> = OnceLock::new();
    SHARED.get_or_init(|| Cluster::new(FAST)).as_ref().map(Cluster::new_database)
}

impl Cluster {
    /// A server that runs, `told` so much; `None` where none is installed. Text is not ordered by its
    /// bytes here, so that a column which forgets to say so is found.
    pub fn new(told: &str) -> Option<Self> {
        let Some(programs) = programs() else {
            let said =
                "no PostgreSQL here: the suite runs on a file once more, the rest is passed over";
            let mut err = std::io::stderr();
            writeln!(err, "{said}").unwrap();
            return None;
        };
        let cluster = Self::in_a_folder(programs, told);
        cluster.run(
            "initdb",
            "-U postgres -A trust -E UTF8 --locale=C.UTF-8 -N \
            --locale-provider=icu --icu-locale=en-US",
        );
        cluster.start();
        Some(cluster)
    }

    /// A server that follows this one through its port or a relay's, as far as it is when it answers.
    pub fn follower(&self, port: u16) -> Self {
        let follower = Self::in_a_folder(self.programs.clone(), &self.told);
        let plain = "sslmode=disable&gssencmode=disable";
        let from = format!("-d postgresql://postgres@127.0.0.1:{port}/?{plain}");
        follower.run("pg_basebackup", &format!("{from} -X stream -R -c fast -N"));
        follower.start();
        follower
    }

    fn in_a_folder(programs: PathBuf, told: &str) -> Self {
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let dir = tempfile::tempdir().unwrap().keep();
        if is_root() {
            assert!(Command::new("chown").arg("postgres").arg(&dir).status().unwrap().success());
        }
        let mut keeper = as_its_user("sh");
        keeper.args(["-c", KEEP, "sh"]).arg(&programs).arg(&dir).stdin(Stdio::piped());
        Self { port, programs, dir, told: told.to_owned(), _keeper: keeper.spawn().unwrap() }
    }

    /// Starts it, where it was stopped or killed too, and waits until it answers.
    pub fn start(&self) {
        let Self { port, told, .. } = self;
        let options = format!("{TOLD} -p {port} {told}");
        let log = self.dir.join("log");
        let start = || {
            self.command("pg_ctl")
                .args(["-s", "-w", "start", "-o", &options, "-l"])
                .arg(&log)
                .stderr(Stdio::null())
                .status()
        };
        // Processes of a killed one may still be about to end.
        let up = (0..50).any(|_| {
            let up = start().unwrap().success();
            if !up {
                sleep(Duration::from_millis(100));
            }
            up
        });
        assert!(up, "no server came up:\n{}", std::fs::read_to_string(log).unwrap_or_default());
    }

    /// Stops it at once, without letting it finish anything.
    pub fn stop_hard(&self) {
        self.run("pg_ctl", "-s -m immediate stop");
    }

    /// Kills its first process; the others end when they notice.
    pub fn kill(&self) {
        let lock = std::fs::read_to_string(self.dir.join("data/postmaster.pid")).unwrap();
        let first = lock.lines().next().unwrap();
        assert!(Command::new("kill").args(["-KILL", first]).status().unwrap().success());
    }

    /// Makes a follower one that is written.
    pub fn promote(&self) {
        self.run("pg_ctl", "-s -w promote");
    }

    /// The address of a new, empty database.
    pub fn new_database(&self) -> String {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let name = format!("shop_{}", COUNT.fetch_add(1, Ordering::Relaxed));
        self.say(&format!("CREATE DATABASE {name}"));
        self.address(&name)
    }

    /// The address of a database.
    pub fn address(&self, name: &str) -> String {
        format!("postgresql://postgres@127.0.0.1:{}/{name}", self.port)
    }

    /// Says something to the server.
    pub fn say(&self, words: &str) {
        let address = self.address("postgres");
        let mut client = postgres::Client::connect(&address, postgres::NoTls).unwrap();
        client.batch_execute(words).unwrap();
    }

    /// Waits until the server answers `question` with yes.
    pub fn wait_until(&self, question: &str) {
        let address = self.address("postgres");
        let mut client = postgres::Client::connect(&address, postgres::NoTls).unwrap();
        let until = Instant::now() + Duration::from_mins(1);
        while !client.query_one(question, &[]).unwrap().get::<_, bool>(0) {
            assert!(Instant::now() < until, "never: {question}");
            sleep(Duration::from_millis(50));
        }
    }

    fn run(&self, program: &str, words: &str) {
        let done = self.command(program).args(words.split_whitespace()).output().unwrap();
        assert!(done.status.success(), "{program}: {}", String::from_utf8_lossy(&done.stderr));
    }

    /// One of its programs on its data.
    fn command(&self, program: &str) -> Command {
        let mut command = as_its_user(self.programs.join(program));
        command.arg("-D").arg(self.dir.join("data"));
        command
    }
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

/// Runs `program`, which does not run as root.
fn as_its_user(program: impl AsRef<OsStr>) -> Command {
    if !is_root() {
        return Command::new(program);
    }
    let mut command = Command::new("setpriv");
    command.args(["--reuid=postgres", "--regid=postgres", "--clear-groups"]).arg(program);
    command
}

fn is_root() -> bool {
    static ROOT: OnceLock<bool> = OnceLock::new();
    *ROOT.get_or_init(|| Command::new("id").arg("-u").output().unwrap().stdout == b"0\n")
}
