//! How far is a server trusted? TLS as the connection string asks, in the words of its standard client.

use std::path::Path;
use std::sync::Arc;

use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::{CryptoProvider, ring, verify_tls12_signature, verify_tls13_signature};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{
    CertificateError, ClientConfig, DigitallySignedStruct, Error, RootCertStore, SignatureScheme,
};
use tokio_postgres_rustls::MakeRustlsConnect;

/// What is asked of the server's certificate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trust {
    /// Nothing: the line is secret, the other end may be anybody.
    Anybody,
    /// That somebody trusted has signed it (`verify-ca`).
    Signed,
    /// That it is this server's own (`verify-full`).
    Named,
}

/// Makes TLS connections that ask `trust`; `roots` is the PEM file of those whose signature counts.
pub(crate) fn connector(
    trust: Trust,
    roots: Option<&Path>,
) -> Result<MakeRustlsConnect, Box<dyn std::error::Error + Send + Sync>> {
    let provider = Arc::new(ring::default_provider());
    let mut trusted = RootCertStore::empty();
    if let Some(roots) = roots {
        for certificate in CertificateDer::pem_file_iter(roots)? {
            trusted.add(certificate?)?;
        }
    }
    let config = ClientConfig::builder_with_provider(Arc::clone(&provider))
        .with_safe_default_protocol_versions()?;
    if trust == Trust::Named {
        let config = config.with_root_certificates(trusted).with_no_client_auth();
        return Ok(MakeRustlsConnect::new(config));
    }
    let signed = match trust {
        Trust::Anybody => None,
        _ => Some(
            WebPkiServerVerifier::builder_with_provider(trusted.into(), Arc::clone(&provider))
                .build()?,
        ),
    };
    let lenient = Arc::new(Lenient { signed, provider });
    let config = config.dangerous().with_custom_certificate_verifier(lenient);
    Ok(MakeRustlsConnect::new(config.with_no_client_auth()))
}

/// Asks for less than that the certificate is the server's own.
#[derive(Debug)]
struct Lenient {
    /// Judges the signature; `None` takes any certificate.
    signed: Option<Arc<WebPkiServerVerifier>>,
    provider: Arc<CryptoProvider>,
}

impl ServerCertVerifier for Lenient {
    fn verify_server_cert(
        &self,
        own: &CertificateDer<'_>,
        between: &[CertificateDer<'_>],
        name: &ServerName<'_>,
        ocsp: &[u8],
        now: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let Some(signed) = &self.signed else {
            return Ok(ServerCertVerified::assertion());
        };
        match signed.verify_server_cert(own, between, name, ocsp, now) {
            Err(Error::InvalidCertificate(
                CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. },
            )) => Ok(ServerCertVerified::assertion()),
            judged => judged,
        }
    }

    fn verify_tls12_signature(
        &self,
        message: &[u8],
        own: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls12_signature(message, own, signature, known)
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        own: &CertificateDer<'_>,
        signature: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        let known = &self.provider.signature_verification_algorithms;
        verify_tls13_signature(message, own, signature, known)
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        self.provider.signature_verification_algorithms.supported_schemes()
    }
}
