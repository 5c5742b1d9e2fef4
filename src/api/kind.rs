//! The kinds of problem: one table of names, statuses and titles.

use actix_web::http::StatusCode;

/// The kinds of problem. Each has one row in [`Kind::row`], and its name is stable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// What came is no request of HTTP.
    MalformedRequest,
    /// The body is not JSON, not UTF-8, or cut off.
    MalformedBody,
    /// A parameter of the query or path cannot be read.
    InvalidParameter,
    /// Nobody who may come in.
    Unauthorized,
    /// Somebody who may not do this.
    Forbidden,
    /// No such address or thing.
    NotFound,
    /// The address is there, the method is not.
    MethodNotAllowed,
    /// What stands does not allow it.
    Conflict,
    /// It is there already.
    AlreadyThere,
    /// `If-Match` names another state than the present one.
    PreconditionFailed,
    /// The head or the body did not arrive in its time.
    RequestTimeout,
    /// The address is over the limit.
    AddressTooLong,
    /// The headers are over the limit.
    HeadersTooLarge,
    /// No format of `Accept` is there.
    NotAcceptable,
    /// The body is over the limit.
    ContentTooLarge,
    /// The body is of a media type that is not read here.
    UnsupportedMediaType,
    /// The body is JSON, but not what is asked for.
    InvalidInput,
    /// The rulebook has faults.
    RulebookFindings,
    /// Worked examples of the rulebook do not come out.
    WorkedExamples,
    /// Rows of a price list are in trouble.
    PriceListTroubles,
    /// The input is sound, but the job cannot be priced.
    CannotBeEstimated,
    /// `If-Match` is needed.
    PreconditionRequired,
    /// `Acting-Person` is needed.
    ActingPersonRequired,
    /// The revision's state does not allow the move.
    IllegalMove,
    /// A stop stands in the estimate.
    StopStands,
    /// Another person has to approve the draft.
    ApprovalNeeded,
    /// The ledger has an acceptance with another total.
    ReceiptDiffers,
    /// A format cannot carry what was accepted.
    CannotBeHandedOver,
    /// An Idempotency-Key was used for another request.
    IdempotencyKeyReused,
    /// The caller makes more requests than are answered.
    TooManyRequests,
    /// No paper can be made of what stands.
    CannotBePrinted,
    /// The program was built without documents.
    NotBuilt,
    /// A fault of ours.
    Internal,
    /// The disk is full, cannot be written, or is damaged.
    Storage,
    /// The request was not answered in its time.
    TimedOut,
    /// The database does not answer, or nothing has been loaded.
    NotReady,
}

impl Kind {
    /// Every kind.
    pub const ALL: &[Self] = &[
        Self::MalformedRequest,
        Self::MalformedBody,
        Self::InvalidParameter,
        Self::Unauthorized,
        Self::Forbidden,
        Self::NotFound,
        Self::MethodNotAllowed,
        Self::Conflict,
        Self::AlreadyThere,
        Self::PreconditionFailed,
        Self::RequestTimeout,
        Self::AddressTooLong,
        Self::HeadersTooLarge,
        Self::NotAcceptable,
        Self::ContentTooLarge,
        Self::UnsupportedMediaType,
        Self::InvalidInput,
        Self::RulebookFindings,
        Self::WorkedExamples,
        Self::PriceListTroubles,
        Self::CannotBeEstimated,
        Self::PreconditionRequired,
        Self::ActingPersonRequired,
        Self::IllegalMove,
        Self::StopStands,
        Self::ApprovalNeeded,
        Self::ReceiptDiffers,
        Self::CannotBeHandedOver,
        Self::IdempotencyKeyReused,
        Self::TooManyRequests,
        Self::CannotBePrinted,
        Self::NotBuilt,
        Self::Internal,
        Self::Storage,
        Self::TimedOut,
        Self::NotReady,
    ];

    /// Status, name and title.
    pub fn row(self) -> (StatusCode, &'static str, &'static str) {
        let (name, title) = self.words();
        (self.status(), name, title)
    }

    fn status(self) -> StatusCode {
        match self {
            Self::MalformedRequest
            | Self::MalformedBody
            | Self::InvalidParameter
            | Self::ActingPersonRequired => StatusCode::BAD_REQUEST,
            Self::Unauthorized => StatusCode::UNAUTHORIZED,
            Self::Forbidden => StatusCode::FORBIDDEN,
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::MethodNotAllowed => StatusCode::METHOD_NOT_ALLOWED,
            Self::Conflict
            | Self::AlreadyThere
            | Self::IllegalMove
            | Self::StopStands
            | Self::ApprovalNeeded
            | Self::ReceiptDiffers
            | Self::CannotBeHandedOver => StatusCode::CONFLICT,
            Self::NotAcceptable => StatusCode::NOT_ACCEPTABLE,
            Self::PreconditionFailed => StatusCode::PRECONDITION_FAILED,
            Self::RequestTimeout => StatusCode::REQUEST_TIMEOUT,
            Self::AddressTooLong => StatusCode::URI_TOO_LONG,
            Self::HeadersTooLarge => StatusCode::REQUEST_HEADER_FIELDS_TOO_LARGE,
            Self::TooManyRequests => StatusCode::TOO_MANY_REQUESTS,
            Self::ContentTooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::UnsupportedMediaType => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::InvalidInput
            | Self::RulebookFindings
            | Self::WorkedExamples
            | Self::PriceListTroubles
            | Self::CannotBeEstimated
            | Self::IdempotencyKeyReused
            | Self::CannotBePrinted => StatusCode::UNPROCESSABLE_ENTITY,
            Self::PreconditionRequired => StatusCode::PRECONDITION_REQUIRED,
            Self::NotBuilt => StatusCode::NOT_IMPLEMENTED,
            Self::Internal => StatusCode::INTERNAL_SERVER_ERROR,
            Self::Storage => StatusCode::INSUFFICIENT_STORAGE,
            Self::NotReady | Self::TimedOut => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::MalformedRequest => ("malformed-request", "This is no request that can be read"),
            Self::MalformedBody => ("malformed-body", "The body cannot be read"),
            Self::InvalidParameter => ("invalid-parameter", "A parameter cannot be read"),
            Self::Unauthorized => ("unauthorized", "Nobody is let in by this"),
            Self::Forbidden => ("forbidden", "This is not for the caller"),
            Self::NotFound => ("not-found", "There is no such thing here"),
            Self::MethodNotAllowed => ("method-not-allowed", "This address does not take the method"),
            Self::Conflict => ("conflict", "What stands does not allow it"),
            Self::AlreadyThere => ("already-there", "It is there already"),
            Self::PreconditionFailed => ("precondition-failed", "It has been changed in the meantime"),
            Self::RequestTimeout => ("request-timeout", "The request did not arrive in time"),
            Self::AddressTooLong => ("address-too-long", "The address is over the limit"),
            Self::HeadersTooLarge => ("headers-too-large", "The headers are over the limit"),
            Self::TooManyRequests => ("too-many-requests", "The caller asks too often"),
            Self::TimedOut => ("timed-out", "The request was not answered in time"),
            Self::NotAcceptable => ("not-acceptable", "No format of Accept is there"),
            Self::ContentTooLarge => ("content-too-large", "The body is over the limit"),
            Self::UnsupportedMediaType => {
                ("unsupported-media-type", "The body's media type is not read here")
            }
            Self::InvalidInput => ("invalid-input", "The input has faults"),
            Self::RulebookFindings => ("rulebook-findings", "The rulebook has faults"),
            Self::WorkedExamples => (
                "worked-examples",
                "Worked examples of the rulebook do not come out",
            ),
            Self::PriceListTroubles => ("price-list-troubles", "Rows of the price list are in trouble"),
            Self::CannotBeEstimated => ("cannot-be-estimated", "The job cannot be priced as it stands"),
            Self::PreconditionRequired => ("precondition-required", "If-Match is needed"),
            Self::ActingPersonRequired => ("acting-person-required", "Acting-Person is needed"),
            Self::IllegalMove => ("illegal-move", "The state does not allow it"),
            Self::StopStands => ("stop-stands", "A stop stands; the offer must not go out"),
            Self::ApprovalNeeded => ("approval-needed", "Another person has to approve it"),
            Self::ReceiptDiffers => (
                "receipt-differs",
                "The ledger has another total than was accepted",
            ),
            Self::CannotBeHandedOver => (
                "cannot-be-handed-over",
                "The format cannot carry what was accepted",
            ),
            Self::IdempotencyKeyReused => (
                "idempotency-key-reused",
                "The Idempotency-Key was used for another request",
            ),
            Self::CannotBePrinted => ("cannot-be-printed", "It cannot be put on paper as it stands"),
            Self::NotBuilt => ("not-built", "This program was built without that"),
            Self::Internal => ("internal", "A fault of this service, not of the request"),
            Self::Storage => ("storage", "The data cannot be stored or read"),
            Self::NotReady => ("not-ready", "The service cannot answer now"),
        }
    }
}
