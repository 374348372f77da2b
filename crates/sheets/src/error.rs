use thiserror::Error;

/// Why a page could not be printed, in one sentence.
#[derive(Debug, Error)]
pub enum SheetError {
    #[error("The page could not be prepared for printing: {0}.")]
    Data(#[from] serde_json::Error),
    #[error("The page could not be set: {0}.")]
    Set(String),
    #[error("The page could not be written as PDF: {0}.")]
    Write(String),
    #[error("The words of the sheets in {0} cannot be read: {1}.")]
    Language(&'static str, String),
    #[error("A font of the printed pages is damaged: {0}. Build Spadework again.")]
    Font(&'static str),
    #[error("Label {0} cannot be the first: this sheet has labels 1 to {1}.")]
    Label(u32, u32),
    #[error("The address does not fit a code ({0}); give a shorter one.")]
    Code(String),
}
