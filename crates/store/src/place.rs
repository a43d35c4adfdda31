//! Where is a shop? A folder, or a PostgreSQL server named by its address.

use std::ffi::{OsStr, OsString};
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use postgres::config::{Host, SslMode};
use postgres::{Client, Config, NoTls};

use crate::engine::server::{QUEUED, said};
use crate::engine::{Trust, connector};
use crate::folder::store_file;
use crate::whole::write_whole;
use crate::{Role, StoreError, Whose};

/// How long one tries to reach a server that says nothing.
const REACH: Duration = Duration::from_secs(5);
/// How long a line may be silent about what was sent before it counts as lost.
const SILENCE: Duration = Duration::from_secs(20);

/// Where a shop is.
#[derive(Debug, Clone)]
pub enum Place {
    /// In a folder of its own.
    Folder(PathBuf),
    /// On a server.
    Server(Box<Server>),
}

/// A PostgreSQL server with the database of a shop.
#[derive(Clone)]
pub struct Server {
    config: Config,
    trust: Option<Trust>,
    roots: Option<PathBuf>,
    desk: PathBuf,
}

impl Place {
    /// Tries whether the shop's server can be reached with what is known of it; a folder always can.
    ///
    /// # Errors
    ///
    /// [`StoreError::OutOfReach`], [`StoreError::PasswordWanted`], [`StoreError::Refused`].
    pub fn reach(&self) -> Result<(), StoreError> {
        match self {
            Self::Folder(_) => Ok(()),
            Self::Server(server) => server.connect().map(drop),
        }
    }

    /// Whether there may be a shop: a folder is looked into, a server is not asked.
    pub fn may_be_a_shop(&self) -> bool {
        match self {
            Self::Folder(dir) => store_file(dir).is_file(),
            Self::Server(_) => true,
        }
    }

    /// The place that is named by `text`: an address that starts with `postgresql://` is a server's,
    /// anything else a folder. What a shop on a server keeps at this desk lies in a folder of its own
    /// below `desk`.
    ///
    /// # Errors
    ///
    /// [`StoreError::Address`] when the address cannot be read, [`StoreError::PasswordInAddress`] when
    /// it holds a password. Neither repeats the address.
    pub fn named(text: &OsStr, desk: &Path) -> Result<Self, StoreError> {
        match text.to_str() {
            Some(text) if text.starts_with("postgresql://") || text.starts_with("postgres://") => {
                Ok(Self::Server(Box::new(Server::at(text, desk)?)))
            }
            _ => Ok(Self::Folder(text.into())),
        }
    }
}

impl<T: Into<PathBuf>> From<T> for Place {
    fn from(dir: T) -> Self {
        Self::Folder(dir.into())
    }
}

impl Server {
    fn at(address: &str, desk: &Path) -> Result<Self, StoreError> {
        let (bare, asked) = address.split_once('?').unwrap_or((address, ""));
        let (mut mode, mut roots, mut rest) = ("prefer", None, Vec::new());
        for pair in asked.split('&').filter(|pair| !pair.is_empty()) {
            match pair.split_once('=') {
                // Of these the client library knows a part only.
                Some(("sslmode", value)) => mode = value,
                Some(("sslrootcert", value)) => roots = Some(PathBuf::from(value)),
                _ => rest.push(pair),
            }
        }
        let unread = |what: &'static str| StoreError::Address { what };
        let mut config: Config = format!("{bare}?{}", rest.join("&"))
            .parse()
            .map_err(|_| unread("it is not postgresql://user@host/database"))?;
        if config.get_password().is_some() {
            return Err(StoreError::PasswordInAddress);
        }
        let trust = match (mode, &roots) {
            ("disable", _) => None,
            // With somebody to trust named, both ask for the signature.
            ("prefer" | "require", None) => Some(Trust::Anybody),
            ("prefer" | "require" | "verify-ca", Some(_)) => Some(Trust::Signed),
            ("verify-full", Some(_)) => Some(Trust::Named),
            ("verify-ca" | "verify-full", None) => {
                return Err(unread("sslrootcert must name whose signature counts"));
            }
            _ => return Err(unread("sslmode is none that is known")),
        };
        config.ssl_mode(match mode {
            "disable" => SslMode::Disable,
            "prefer" => SslMode::Prefer,
            _ => SslMode::Require,
        });
        if config.get_connect_timeout().is_none() {
            config.connect_timeout(REACH);
        }
        if config.get_application_name().is_none() {
            config.application_name("binwright");
        }
        config.tcp_user_timeout(SILENCE).keepalives_idle(SILENCE);
        Ok(Self { config, trust, roots, desk: desk.to_owned() })
    }

    /// Looks for the password where the server's standard client does: `PGPASSWORD`, then the file
    /// `PGPASSFILE` names, then `.pgpass` in the home folder. `variable` reads the environment.
    ///
    /// # Errors
    ///
    /// [`StoreError::OpenPasswordFile`] when others may read that file, or what reading it says.
    pub fn look_up_password(
        &mut self,
        variable: impl Fn(&str) -> Option<OsString>,
    ) -> Result<(), StoreError> {
        if let Some(password) = variable("PGPASSWORD") {
            self.set_password(&password.to_string_lossy());
            return Ok(());
        }
        let named = variable("PGPASSFILE").map(PathBuf::from);
        let file = named.or_else(|| Some(Path::new(&variable("HOME")?).join(".pgpass")));
        let Some(file) = file.filter(|file| file.is_file()) else {
            return Ok(());
        };
        refuse_open(&file)?;
        let failed = |source| StoreError::File { path: file.clone(), source };
        let lines = fs::read_to_string(&file).map_err(failed)?;
        if let Some(password) = lines.lines().find_map(|line| self.password_in(line)) {
            self.set_password(&password);
        }
        Ok(())
    }

    /// Gives the password that somebody typed.
    pub fn set_password(&mut self, password: &str) {
        self.config.password(password);
    }

    /// The password of a line `host:port:database:user:password` that is this server's; `*` is any, `\`
    /// keeps the sign after it.
    fn password_in(&self, line: &str) -> Option<String> {
        let mut fields = vec![String::new()];
        let mut signs = line.chars();
        while let Some(sign) = signs.next() {
            match sign {
                '\\' => fields.last_mut()?.extend(signs.next()),
                ':' if fields.len() < 5 => fields.push(String::new()),
                other => fields.last_mut()?.push(other),
            }
        }
        let [host, port, database, user, password] = fields.try_into().ok()?;
        let fits = |field: &str, is: &str| field == "*" || field == is;
        let own = self.config.get_user().unwrap_or_default();
        let here = self.ends().any(|(at, on)| fits(&host, &at) && fits(&port, &on.to_string()));
        let fits =
            here && fits(&database, self.config.get_dbname().unwrap_or(own)) && fits(&user, own);
        fits.then_some(password)
    }

    /// The hosts with their ports.
    fn ends(&self) -> impl Iterator<Item = (String, u16)> {
        let ports = self.config.get_ports();
        let port = |at: usize| ports.get(at).or(ports.first()).copied().unwrap_or(5432);
        self.config.get_hosts().iter().enumerate().map(move |(at, host)| {
            let host = match host {
                Host::Tcp(name) => name.clone(),
                #[cfg(unix)]
                Host::Unix(_) => "localhost".to_owned(),
            };
            (host, port(at))
        })
    }

    /// The folder at this desk of the shop with that identity.
    pub(crate) fn folder(&self, id: &str) -> PathBuf {
        self.desk.join(id)
    }

    /// The identity of the shop that was found there when it was last reached; `None` before.
    pub(crate) fn remembered(&self) -> Option<String> {
        fs::read_to_string(self.memory()).ok()
    }

    /// Remembers the identity of the shop that is found there.
    pub(crate) fn remember(&self, id: &str) -> Result<(), StoreError> {
        let path = self.memory();
        if self.remembered().as_deref() == Some(id) {
            return Ok(());
        }
        let failed = |source| StoreError::File { path: path.clone(), source };
        write_whole(&path, failed, |unborn| fs::write(unborn, id).map_err(failed))
    }

    /// The file it is remembered in, named by the address.
    fn memory(&self) -> PathBuf {
        let plain = |sign: char| sign.is_ascii_alphanumeric() || "-.".contains(sign);
        let name = self.to_string().chars().fold(String::new(), |name, sign| {
            if plain(sign) {
                name + sign.encode_utf8(&mut [0; 4])
            } else {
                format!("{name}_{:x}", sign as u32)
            }
        });
        self.desk.join(name)
    }

    /// Takes up a line to the server.
    pub(crate) fn connect(&self) -> Result<Client, StoreError> {
        let reached = match self.trust {
            None => self.config.connect(NoTls),
            Some(trust) => {
                let roots = self.roots.as_deref();
                self.config.connect(connector(trust, roots).map_err(StoreError::Engine)?)
            }
        };
        let mut client = reached.map_err(|error| match error.code() {
            Some(_) => said(error, self),
            None if self.config.get_password().is_none() && wants_password(&error) => {
                StoreError::PasswordWanted { place: self.to_string() }
            }
            None => self.out_of_reach(error),
        })?;
        let queued = format!("SET lock_timeout = {}", QUEUED.as_millis());
        client.batch_execute(&queued).map_err(|error| said(error, self))?;
        Ok(client)
    }

    /// What one reads who is not of those who may do `what`.
    pub(crate) fn refused(&self, what: &'static str, may: Vec<Role>) -> StoreError {
        let user = self.config.get_user().unwrap_or("this user").to_owned();
        StoreError::NotAllowed { user, what, whose: Whose(may) }
    }

    pub(crate) fn out_of_reach(
        &self,
        why: impl Into<Box<dyn std::error::Error + Send + Sync>>,
    ) -> StoreError {
        StoreError::OutOfReach { place: self.to_string(), since: None, source: why.into() }
    }
}

/// Refuses a password file that others may read.
#[cfg(unix)]
fn refuse_open(file: &Path) -> Result<(), StoreError> {
    use std::os::unix::fs::PermissionsExt;
    let failed = |source| StoreError::File { path: file.to_owned(), source };
    let mode = fs::metadata(file).map_err(failed)?.permissions().mode();
    let others = mode & 0o077;
    if others == 0 { Ok(()) } else { Err(StoreError::OpenPasswordFile { path: file.to_owned() }) }
}

#[cfg(not(unix))]
fn refuse_open(_: &Path) -> Result<(), StoreError> {
    Ok(())
}

/// The client library has no kind of its own for it.
fn wants_password(error: &postgres::Error) -> bool {
    let cause = std::error::Error::source(error);
    cause.is_some_and(|cause| cause.to_string() == "password missing")
}

/// Its address, without what concerns the line.
impl fmt::Display for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ends: Vec<_> = self.ends().map(|(host, port)| format!("{host}:{port}")).collect();
        write!(f, "postgresql://{}", ends.join(","))?;
        self.config.get_dbname().map_or(Ok(()), |name| write!(f, "/{name}"))
    }
}

/// Says no more than its address: what else it knows is nobody's business.
impl fmt::Debug for Server {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Server").field(&self.to_string()).finish()
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(dir) => dir.display().fmt(f),
            Self::Server(server) => server.fmt(f),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rules are those of PostgreSQL 15, "The Password File": five fields, `*` fits any, a backslash
    /// keeps a colon or a backslash, the first line that fits counts.
    #[test]
    fn a_password_is_that_of_the_first_line_that_fits() {
        let desk = Path::new("desk");
        let server = Server::at("postgresql://ann@far,near:5433/chain", desk).unwrap();
        let rows = [
            ("near:5433:chain:ann:s3cret", Some("s3cret")),
            ("far:5432:chain:ann:s3cret", Some("s3cret")),
            ("far:5433:chain:ann:s3cret", None),
            ("*:*:*:*:any:thing", Some("any:thing")),
            ("near:*:chain:ann:a\\:b\\\\c", Some("a:b\\c")),
            ("near:5433:other:ann:s3cret", None),
            ("near:5433:chain:bob:s3cret", None),
            ("near:5433:chain:ann", None),
            ("# near:5433:chain:ann:s3cret", None),
            ("", None),
        ];
        for (line, password) in rows {
            assert_eq!(server.password_in(line).as_deref(), password, "{line}");
        }
    }
}
