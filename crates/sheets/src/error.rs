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
}
