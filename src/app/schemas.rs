//! The JSON Schema of each answer.

use schemars::{JsonSchema, SchemaGenerator};
use serde_json::{Value, json};

use super::answer::{Answer, JSON_FORMAT};

/// The schema of what an answer holds, with the version that stands before it.
fn of<A: Answer>() -> Value {
    schema_of::<A::Data>(A::COMMAND)
}

fn schema_of<D: JsonSchema>(command: &str) -> Value {
    let schema = SchemaGenerator::default().into_root_schema_for::<D>();
    let mut value = schema.to_value();
    value["title"] = json!(format!("Answer of brinecast {command}"));
    let version = json!({ "type": "integer", "const": JSON_FORMAT, "description": "Version of this form." });
    for form in forms(&mut value) {
        if let Some(properties) = form.get_mut("properties").and_then(Value::as_object_mut) {
            properties.insert("format".into(), version.clone());
        }
        if let Some(required) = form.get_mut("required").and_then(Value::as_array_mut) {
            required.push(json!("format"));
        }
    }
    value
}

/// The object, or each of those that an answer may be.
fn forms(value: &mut Value) -> Vec<&mut Value> {
    if value.get("anyOf").is_some() {
        return value.get_mut("anyOf").and_then(Value::as_array_mut).into_iter().flatten().collect();
    }
    vec![value]
}

/// The JSON Schema (draft 2020-12) of the answer of a command; nothing for a command without one.
///
/// ```
/// let schema = brinecast::app::answer_schema("run").expect("a run has an answer");
/// assert!(schema["properties"]["bands_kept"].is_object());
/// ```
#[must_use]
pub fn answer_schema(command: &str) -> Option<Value> {
    ANSWERS.iter().find(|(name, _)| *name == command).map(|(_, schema)| schema())
}

macro_rules! answers {
    ($($answer:ty,)*) => {
        /// Every answer with its schema.
        static ANSWERS: &[(&str, fn() -> Value)] = &[$((<$answer as Answer>::COMMAND, of::<$answer>),)*];

        /// The commands whose answers have a schema.
        pub const WITH_SCHEMA: &[&str] = &[$(<$answer as Answer>::COMMAND,)*];
    };
}

answers! {
    super::RunResult,
    super::CompareResult,
    super::SweepResult,
    super::SolveResult,
    super::ChooseResult,
    super::EnsembleResult,
    super::SensitivityResult,
    super::FaultsResult,
    super::CorrectAnswer,
    super::RescueAnswer,
    super::DriftResult,
    super::PlanResult,
    super::StationResult,
    super::AwayResult,
    super::LogCheckResult,
    super::FitResult,
    super::NowResult,
    super::RecipeResult,
    super::BatchAnswer,
    super::AdjustAnswer,
    super::AcclimateAnswer,
    super::TreatAnswer,
    super::MixToAnswer,
    super::ConvertAnswer,
    super::PropertiesAnswer,
    super::ListAnswer,
    super::KeysAnswer,
}
