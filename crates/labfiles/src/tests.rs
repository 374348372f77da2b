use crate::facts::{FACTS, Facts};
use crate::words::Words;
use crate::*;

#[test]
fn tables_parse_and_are_complete() {
    Words::load().unwrap();
    Facts::load().unwrap();
    for unit in Unit::ALL {
        assert!(FACTS.unit(*unit).is_some(), "{}", unit.key());
    }
    for form in Form::ALL {
        assert!(form.analyte().is_some(), "{}", form.key());
    }
    for extractant in agronomy::soil::Extractant::ALL {
        assert!(FACTS.extract(extractant).is_some(), "{}", extractant.key());
    }
}
