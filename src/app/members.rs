//! Members of an ensemble: their plans, and files that carry them from one machine to another.

use std::io::{BufReader, Read};
use std::path::Path;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::{AppError, Loaded, Varying};
use crate::model::Plan;
use crate::study::{Uncertainty, interval, stream};

/// The members of a scenario.
pub(super) struct Members<'a> {
    base: &'a Plan,
    varying: Varying<'a>,
    uncertainty: &'a Uncertainty,
    seed: u64,
}

impl<'a> Members<'a> {
    pub(super) fn new(loaded: &'a Loaded, uncertainty: &'a Uncertainty, seed: u64) -> Self {
        let varying = loaded.uncertain(uncertainty.spreads.iter().map(|s| &*s.key));
        Self { base: &loaded.scenario.plan, varying, uncertainty, seed }
    }

    /// The plan of one member: keys drawn, then what varies within the run, all from its own stream.
    pub(super) fn plan(&self, member: u64) -> Result<Plan, AppError> {
        self.plan_with(member, &|_| {})
    }

    /// The same with something done otherwise in every member, before it varies within the run.
    pub(super) fn plan_with(&self, member: u64, otherwise: &dyn Fn(&mut Plan)) -> Result<Plan, AppError> {
        let (base, uncertainty) = (self.base, self.uncertainty);
        let mut rng = stream(self.seed, member);
        let mut plan = if uncertainty.spreads.is_empty() {
            base.clone()
        } else {
            let drawn = uncertainty.draw(&mut rng).map_err(AppError::Usage)?;
            let hint = if drawn.iter().any(|d| d.contains("=-")) {
                "; a normal spread reaches below zero: lognormal and triangular ones need not"
            } else {
                ""
            };
            self.varying.plan(&drawn).map_err(|e| {
                AppError::Usage(format!("member {member} drew {}, which cannot be{hint}:\n{e}", drawn.join(", ")))
            })?
        };
        if plan.horizon != base.horizon || plan.species.len() != base.species.len() || plan.bands != base.bands {
            return Err(AppError::Usage(
                "the length of the run, its solutes and its bands cannot be uncertain: spread other keys".into(),
            ));
        }
        plan.output_every = Some(interval(base));
        // What goes wrong goes wrong for every member; a fault may have brought a water of its own.
        plan.waters.extend(base.waters.iter().skip(plan.waters.len()).cloned());
        plan.disturbances.clone_from(&base.disturbances);
        otherwise(&mut plan);
        uncertainty.vary(&mut plan, &mut rng);
        Ok(plan)
    }
}

/// First line of a file of members.
const MAGIC: &str = "brinecast members 1";
/// Longest header \[bytes\].
const LONGEST_HEADER: usize = 1 << 20;

/// Length of the checksum at the end \[bytes\].
const CHECKSUM_BYTES: u64 = 32;

/// What a file of members says of itself. Files that agree in all but the members can be merged.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct MembersHeader {
    /// Version of the program.
    pub brinecast: String,
    /// SHA-256 of the scenario and its overrides.
    pub checksum: String,
    /// Seed.
    pub seed: u64,
    /// What was uncertain.
    pub uncertain: Vec<String>,
    /// First member, and one past the last.
    pub members: [u64; 2],
    /// Rows of the grid.
    pub rows: usize,
    /// Salinity and the solutes.
    pub quantities: usize,
    /// Times that are kept of each member: when it left each band, and what became of its water.
    #[serde(rename = "bands")]
    pub times: usize,
}

impl MembersHeader {
    /// How many members.
    #[must_use]
    pub(super) fn count(&self) -> usize {
        usize::try_from(self.members[1] - self.members[0]).unwrap_or(0)
    }

    /// Bytes of its numbers; nothing where no file could hold them.
    fn number_bytes(&self) -> Option<u64> {
        let per_member = (self.rows as u64).checked_mul(self.quantities as u64)?.checked_add(self.times as u64)?;
        per_member.checked_mul(self.members[1] - self.members[0])?.checked_mul(8)
    }

    /// The head of the file.
    pub(super) fn bytes(&self) -> Result<Vec<u8>, AppError> {
        let json = serde_json::to_string(self).map_err(|e| AppError::Usage(e.to_string()))?;
        Ok(format!("{MAGIC}\n{json}\n").into_bytes())
    }
}

/// A file of members being read, row by row.
pub(super) struct MembersFile {
    name: String,
    pub(super) header: MembersHeader,
    input: BufReader<std::fs::File>,
    seen: Sha256,
}

impl MembersFile {
    /// Opens a file of members.
    pub(super) fn open(path: &Path) -> Result<Self, AppError> {
        let fail = |why: String| AppError::Read { path: path.into(), why };
        let mut input = BufReader::new(super::files::open(path)?);
        let mut line_bytes = 0u64;
        let mut line = || -> Result<String, AppError> {
            let mut bytes = Vec::new();
            let mut one = [0u8];
            while bytes.len() < LONGEST_HEADER {
                input.read_exact(&mut one).map_err(|_| fail("it is no file of members".into()))?;
                line_bytes += 1;
                if one[0] == b'\n' {
                    break;
                }
                bytes.push(one[0]);
            }
            String::from_utf8(bytes).map_err(|_| fail("it is no file of members".into()))
        };
        if line()? != MAGIC {
            return Err(fail("it is no file of members: give the members.bin that --keep-members wrote".into()));
        }
        let header: MembersHeader = serde_json::from_str(&line()?).map_err(|e| fail(e.to_string()))?;
        if header.members[0] >= header.members[1] {
            return Err(fail("it holds no members".into()));
        }
        // Room is made for what the head promises, so the promise is held against the file's length first.
        let head = line_bytes + CHECKSUM_BYTES;
        let length = input.get_ref().metadata().map_err(|e| fail(e.to_string()))?.len();
        if header.number_bytes().and_then(|n| n.checked_add(head)) != Some(length) {
            return Err(fail(format!(
                "its length of {length} bytes is not what its head says: it was cut off or damaged; run these members again"
            )));
        }
        Ok(Self { name: path.display().to_string(), header, input, seen: Sha256::new() })
    }

    /// Reads the next numbers into `values`.
    pub(super) fn numbers(&mut self, values: &mut [f64]) -> Result<(), AppError> {
        let mut bytes = [0u8; 8];
        for value in values {
            self.input.read_exact(&mut bytes).map_err(|_| AppError::Read {
                path: self.name.clone().into(),
                why: "it ends too early: it was cut off, or belongs to another version".into(),
            })?;
            self.seen.update(bytes);
            *value = f64::from_le_bytes(bytes);
        }
        Ok(())
    }

    /// Reads the checksum at the end, and holds what was read against it.
    pub(super) fn check(mut self) -> Result<(), AppError> {
        let mut sum = [0u8; 32];
        let whole = self.input.read_exact(&mut sum).is_ok() && self.seen.finalize().as_slice() == sum;
        if whole {
            return Ok(());
        }
        Err(AppError::Read {
            path: self.name.into(),
            why: "its numbers do not match its checksum: it was damaged; run these members again".into(),
        })
    }
}

/// Opens files of members, checks that they belong together and follow one another, and puts them in order.
pub(super) fn open_together(paths: &[std::path::PathBuf]) -> Result<(MembersHeader, Vec<MembersFile>), AppError> {
    let mut files = paths.iter().map(|p| MembersFile::open(p)).collect::<Result<Vec<_>, _>>()?;
    files.sort_by_key(|f| f.header.members);
    let Some(first) = files.first() else {
        return Err(AppError::Usage("--merge needs at least one file of members".into()));
    };
    let mut whole = first.header.clone();
    for file in &files[1..] {
        let mut same = file.header.clone();
        same.members = whole.members;
        if same != whole {
            return Err(AppError::Usage(format!(
                "{} and {} come from different studies: scenario, overrides, seed, spreads and version must be the same",
                files[0].name, file.name
            )));
        }
        if file.header.members[0] != whole.members[1] {
            return Err(AppError::Usage(format!(
                "members {} to {} are missing or there twice: the ranges must follow one another",
                whole.members[1].min(file.header.members[0]),
                whole.members[1].max(file.header.members[0])
            )));
        }
        whole.members[1] = file.header.members[1];
    }
    Ok((whole, files))
}
