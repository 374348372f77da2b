//! The door: what opens it, what does not, and what its file gives away.
#![allow(clippy::unwrap_used)]

use door::{Door, DoorError, is_near};
use jiff::civil::{Date, date};
use std::net::{IpAddr, Ipv4Addr};
use tempfile::TempDir;

const TODAY: Date = date(2027, 3, 1);
const GOOD: &str = "clay over gravel";

fn made() -> (TempDir, Door) {
    let folder = tempfile::tempdir().unwrap();
    let door = Door::beside(&folder.path().join("farm.book"));
    (folder, door)
}

fn set() -> (TempDir, Door) {
    let (folder, door) = made();
    door.set_password(GOOD, "Pipit Lane", TODAY).unwrap();
    (folder, door)
}

#[test]
fn nothing_is_written_and_nobody_let_in_before_a_password_is_set() {
    let (folder, door) = made();
    assert!(!door.is_set().unwrap());
    assert!(matches!(
        door.let_in(GOOD, "Ana", TODAY),
        Err(DoorError::NotSet)
    ));
    assert!(matches!(
        door.certificate(&[], TODAY),
        Err(DoorError::NotSet)
    ));
    assert_eq!(door.who("anything", TODAY).unwrap(), None);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn the_password_opens_and_no_other_does() {
    let (_folder, door) = set();
    for wrong in [
        "",
        "clay over grave",
        "Clay over gravel",
        " clay over gravel",
    ] {
        assert_eq!(door.let_in(wrong, "Ana", TODAY).unwrap(), None, "{wrong:?}");
    }
    let pass = door.let_in(GOOD, "Ana", TODAY).unwrap().unwrap();
    assert_eq!(door.who(pass.text(), TODAY).unwrap().unwrap().name, "Ana");
    assert_eq!(door.who(&pass.text()[1..], TODAY).unwrap(), None);
    assert_eq!(door.devices().unwrap().len(), 1);
}

#[test]
fn a_letter_written_in_two_ways_is_one() {
    let (_folder, door) = made();
    door.set_password("composta a\u{f1}eja", "Pipit Lane", TODAY)
        .unwrap();
    let other = "composta an\u{303}eja";
    assert!(door.let_in(other, "Ana", TODAY).unwrap().is_some());
}

#[test]
fn short_and_endless_passwords_are_refused_with_their_length() {
    let (_folder, door) = made();
    let why = door.set_password("seven77", "Pipit Lane", TODAY);
    assert_eq!(
        why.unwrap_err().to_string(),
        "Found a password of 7 letters, expected at least 8."
    );
    assert!(matches!(
        door.set_password(&"x".repeat(10_000), "Pipit Lane", TODAY),
        Err(DoorError::Long(_))
    ));
    assert!(!door.is_set().unwrap());
}

#[test]
fn a_device_that_is_shut_out_stays_out_and_the_others_in() {
    let (_folder, door) = set();
    let first = door.let_in(GOOD, "Ana", TODAY).unwrap().unwrap();
    let second = door.let_in(GOOD, "Luis", TODAY).unwrap().unwrap();
    let ana = door.who(first.text(), TODAY).unwrap().unwrap();
    door.shut_out(ana.id).unwrap();
    assert_eq!(door.who(first.text(), TODAY).unwrap(), None);
    assert!(door.who(second.text(), TODAY).unwrap().is_some());
    assert!(matches!(door.shut_out(ana.id), Err(DoorError::NoDevice)));
}

#[test]
fn a_new_password_shuts_every_device_out_and_keeps_the_certificate_they_trust() {
    let (_folder, door) = set();
    let pass = door.let_in(GOOD, "Ana", TODAY).unwrap().unwrap();
    let trusted = door.authority().unwrap().fingerprint().unwrap();
    door.set_password("sand over clay", "Pipit Lane", TODAY)
        .unwrap();
    assert_eq!(door.who(pass.text(), TODAY).unwrap(), None);
    assert!(door.let_in(GOOD, "Ana", TODAY).unwrap().is_none());
    assert_eq!(door.authority().unwrap().fingerprint().unwrap(), trusted);
}

#[test]
fn the_file_holds_neither_password_nor_pass_and_its_owner_alone_reads_it() {
    let (folder, door) = set();
    let pass = door.let_in(GOOD, "Ana", TODAY).unwrap().unwrap();
    let file = folder.path().join("farm.book.door");
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(!text.contains(GOOD) && !text.contains(pass.text()));
    assert!(text.contains("$argon2id$"));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(&file).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}

#[test]
fn a_file_that_is_not_ours_opens_nothing() {
    let (folder, door) = made();
    for text in ["", "{}", "not json", "{\"layout\":1}"] {
        std::fs::write(folder.path().join("farm.book.door"), text).unwrap();
        assert!(
            matches!(door.is_set(), Err(DoorError::Spoiled(_))),
            "{text:?}"
        );
        assert!(door.let_in(GOOD, "Ana", TODAY).is_err());
        assert!(door.who("x", TODAY).is_err());
    }
    door.forget().unwrap();
    assert!(!door.is_set().unwrap());
}

#[test]
fn a_device_was_seen_on_the_day_it_last_came() {
    let (_folder, door) = set();
    let pass = door.let_in(GOOD, "  Ana\u{7}  ", TODAY).unwrap().unwrap();
    let later = date(2027, 4, 9);
    door.who(pass.text(), later).unwrap();
    let device = &door.devices().unwrap()[0];
    assert_eq!(
        (device.name.as_str(), device.since, device.last_seen),
        ("Ana", TODAY, later)
    );
}

#[test]
fn the_pass_that_came_first_goes_when_too_many_hold_one() {
    let (_folder, door) = set();
    let first = door.let_in(GOOD, "", TODAY).unwrap().unwrap();
    for _ in 0..100 {
        door.let_in(GOOD, "", TODAY).unwrap();
    }
    assert_eq!(door.devices().unwrap().len(), 100);
    assert_eq!(door.who(first.text(), TODAY).unwrap(), None);
}

#[test]
fn only_networks_of_ones_own_are_near() {
    let near = [
        "192.168.1.20",
        "10.0.0.4",
        "172.31.255.1",
        "100.64.0.9",
        "::ffff:192.168.1.20",
    ];
    let far = [
        "172.32.0.1",
        "192.169.0.1",
        "100.128.0.1",
        "8.8.8.8",
        "2001:db8::1",
        "::1",
    ];
    for a in near {
        assert!(is_near(a.parse::<IpAddr>().unwrap()), "{a}");
    }
    for a in far {
        assert!(!is_near(a.parse::<IpAddr>().unwrap()), "{a}");
    }
}

#[test]
fn a_certificate_is_made_for_addresses_of_ones_own() {
    let (_folder, door) = set();
    let made = door
        .certificate(&[Ipv4Addr::new(192, 168, 1, 20)], TODAY)
        .unwrap();
    assert_eq!(made.chain.len(), 2);
    assert_eq!(made.chain[1], door.authority().unwrap().der().unwrap());
    assert!(!made.key.is_empty());
}
