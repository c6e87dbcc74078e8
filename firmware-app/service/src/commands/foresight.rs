//! What forecasts stand on, opened once for all steps.

use std::sync::Arc;

use doneness::{Knowledge, KnowledgeError};

use crate::failure::Failure;

/// The curves and models that come with the program.
pub(super) fn opened() -> Result<Arc<Knowledge>, Failure> {
    taken(Knowledge::shipped())
}

/// A file that is not whole is told and ends the command: forecasts that silently stand on something else would be believed.
fn taken(opened: Result<Knowledge, KnowledgeError>) -> Result<Arc<Knowledge>, Failure> {
    opened.map(Arc::new).map_err(|why| {
        let told = format!(
            "expected the curves and models inside this program to be whole, found the {why}; install it again"
        );
        Failure::Failed(told.into())
    })
}

#[cfg(test)]
mod tests {
    use doneness::bank::Bank;

    use super::*;

    #[test]
    fn what_is_shipped_is_whole() {
        assert!(opened().is_ok());
    }

    #[test]
    fn a_damaged_bank_ends_the_command_and_names_itself() {
        let damaged = Bank::open(&[7; 64], &[7; 64]).err().map(KnowledgeError::from).expect("no bank has these bytes");
        let failure = taken(Err(damaged)).map(|_| ()).expect_err("a damaged bank is not taken");
        assert_eq!(failure.exit_code(), Failure::FAILED);
        let words = failure.to_string();
        let expected = "expected the curves and models inside this program to be whole, found the bank: ";
        assert!(words.starts_with(expected), "{words}");
    }
}
