//! The certificate that devices trust, and those that it signs for this computer’s addresses.

use crate::near::{NEAR, host_name};
use crate::{DoorError, Result};
use jiff::ToSpan;
use jiff::civil::Date;
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType,
    ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose,
    NameConstraints, date_time_ymd,
};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::net::{IpAddr, Ipv4Addr};

/// How long a device that took the certificate may trust it.
const YEARS: i16 = 10;
/// Browsers refuse longer ones (CA/Browser Forum ballot SC22: 398 days).
const DAYS: i32 = 397;

/// What devices are asked to trust: made once, and able to vouch for nothing but addresses of one’s own
/// networks (RFC 5280, name constraints), so that even a stolen key opens nothing else.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Authority {
    name: String,
    made: Date,
    /// As PEM.
    certificate: String,
    /// As PEM.
    key: String,
}

/// A certificate with its chain and key, as DER.
pub struct Certificate {
    pub chain: Vec<Vec<u8>>,
    pub key: Vec<u8>,
}

/// From the first moment of one day to that of another.
fn valid(p: &mut CertificateParams, from: Date, to: Date) {
    let [from, to] = [from, to].map(|day| {
        let (month, number) = (day.month().unsigned_abs(), day.day().unsigned_abs());
        date_time_ymd(i32::from(day.year()), month, number)
    });
    p.not_before = from;
    p.not_after = to;
}

fn params(name: &str, made: Date) -> Result<CertificateParams> {
    let mut p = CertificateParams::new(Vec::new())?;
    p.distinguished_name = DistinguishedName::new();
    p.distinguished_name.push(DnType::CommonName, name);
    p.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    p.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    // A device’s clock may lie a day behind.
    valid(
        &mut p,
        made.saturating_sub(1.day()),
        made.saturating_add(YEARS.years()),
    );
    let near = NEAR.iter().map(|(range, prefix)| {
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(IpAddr::V4(*range), *prefix))
    });
    p.name_constraints = Some(NameConstraints {
        permitted_subtrees: near
            .chain([GeneralSubtree::DnsName("local".to_owned())])
            .collect(),
        excluded_subtrees: Vec::new(),
    });
    Ok(p)
}

pub(crate) fn made(farm: &str, today: Date) -> Result<Authority> {
    let name = format!("Spadework of {farm}");
    let name: String = name.chars().take(64).collect();
    let key = KeyPair::generate()?;
    let certificate = params(&name, today)?.self_signed(&key)?;
    Ok(Authority {
        name,
        made: today,
        certificate: certificate.pem(),
        key: key.serialize_pem(),
    })
}

impl Authority {
    pub fn name(&self) -> &str {
        &self.name
    }

    /// As devices take it in, PEM.
    pub fn pem(&self) -> &str {
        &self.certificate
    }

    /// As DER.
    ///
    /// # Errors
    /// The file does not hold a certificate.
    pub fn der(&self) -> Result<Vec<u8>> {
        pem::parse(&self.certificate)
            .map(pem::Pem::into_contents)
            .map_err(|_| DoorError::Certificate(rcgen::Error::CouldNotParseCertificate))
    }

    /// SHA-256 of the certificate, as devices show it.
    ///
    /// # Errors
    /// The file does not hold a certificate.
    pub fn fingerprint(&self) -> Result<String> {
        let pairs: Vec<String> = Sha256::digest(self.der()?)
            .iter()
            .map(|b| format!("{b:02X}"))
            .collect();
        Ok(pairs.join(":"))
    }

    pub(crate) fn sign(&self, addresses: &[Ipv4Addr], today: Date) -> Result<Certificate> {
        let names: Vec<String> = addresses
            .iter()
            .map(ToString::to_string)
            .chain(host_name())
            .chain(["127.0.0.1".to_owned()])
            .collect();
        let mut p = CertificateParams::new(names)?;
        p.distinguished_name = DistinguishedName::new();
        p.distinguished_name
            .push(DnType::CommonName, "Spadework on this computer");
        p.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        p.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        p.use_authority_key_identifier_extension = true;
        valid(
            &mut p,
            today.saturating_sub(1.day()),
            today.saturating_add(DAYS.days()),
        );
        let ours = KeyPair::from_pem(&self.key)?;
        let issuer = Issuer::new(params(&self.name, self.made)?, ours);
        let key = KeyPair::generate()?;
        let leaf = p.signed_by(&key, &issuer)?;
        Ok(Certificate {
            chain: vec![leaf.der().to_vec(), self.der()?],
            key: key.serialize_der(),
        })
    }
}
