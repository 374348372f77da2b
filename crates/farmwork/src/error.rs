use thiserror::Error;

/// Why something could not be done; each is one sentence for a person.
#[derive(Debug, Error)]
pub enum WorkError {
    #[error(transparent)]
    Book(#[from] farmbook::Error),
    #[error(transparent)]
    Plan(#[from] planner::PlanError),
    #[error("A stored {0} could not be read back ({1}); make it again.")]
    Stored(&'static str, String),
    /// Rows of a lab’s file that do not fit; nothing was read.
    #[error("{}", lines(.0))]
    Rows(Vec<labfiles::Problem>),
    /// A lab’s file that cannot be read before these are answered.
    #[error("{}", asked(.0))]
    Open(Vec<labfiles::Question>),
    #[error("{0}")]
    Said(String),
}

pub type Result<T> = std::result::Result<T, WorkError>;

fn lines(problems: &[labfiles::Problem]) -> String {
    problems
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("\n")
}

fn asked(questions: &[labfiles::Question]) -> String {
    questions
        .iter()
        .map(|q| q.sentence.as_str())
        .collect::<Vec<_>>()
        .join("\n")
}
