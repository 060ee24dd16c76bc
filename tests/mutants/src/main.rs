//! Writes mutants into a copy of the sources, each behind a switch that an environment variable turns, so that one build
//! holds them all: `brinecast-mutants COPY COUNT SEED [LEFT-OUT...]`. `COPY/src` is rewritten; the list goes to standard output.
//!
//! A mutant is a comparison, a sum, a product or a logical operator turned into its neighbour, or a condition turned round.
//! They are taken evenly over the folders of `src`, none inside another, none in tests and none in constants.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use brinecast_mutants::{Text, declare, leave_out, sources};
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// A place that can be changed: the whole expression, and what is written in its stead.
struct Site {
    from: usize,
    to: usize,
    line: usize,
    instead: String,
    what: String,
}

struct Finder<'a> {
    text: Text<'a>,
    sites: Vec<Site>,
}

impl Finder<'_> {
    fn add(&mut self, span: proc_macro2::Span, instead: String, what: String) {
        let (from, to) = self.text.range(span);
        self.sites.push(Site { from, to, line: span.start().line, instead, what });
    }
}

impl<'ast> Visit<'ast> for Finder<'_> {
    leave_out!('ast);

    fn visit_expr_binary(&mut self, e: &'ast syn::ExprBinary) {
        use syn::BinOp::{Add, And, Div, Eq, Ge, Gt, Le, Lt, Mul, Ne, Or, Sub};
        let other = match e.op {
            Add(_) => "-",
            Sub(_) => "+",
            Mul(_) => "/",
            Div(_) => "*",
            Lt(_) => ">=",
            Le(_) => ">",
            Gt(_) => "<=",
            Ge(_) => "<",
            Eq(_) => "!=",
            Ne(_) => "==",
            And(_) => "||",
            Or(_) => "&&",
            _ => "",
        };
        let text = format!("{e:?}");
        // A pattern in a chain of conditions cannot be moved.
        if !other.is_empty() && !text.contains("Expr::Let") {
            let ((l0, l1), (r0, r1)) = (self.text.range(e.left.span()), self.text.range(e.right.span()));
            let (left, right) = (&self.text.text[l0..l1], &self.text.text[r0..r1]);
            let was = self.text.text[l1..r0].trim().to_owned();
            let instead = format!("{left} {other} {right}");
            self.add(e.span(), instead, format!("`{was}` is `{other}`"));
        }
        visit::visit_expr_binary(self, e);
    }

    fn visit_expr_if(&mut self, e: &'ast syn::ExprIf) {
        if !format!("{:?}", e.cond).contains("Expr::Let") {
            let (from, to) = self.text.range(e.cond.span());
            let cond = self.text.text[from..to].to_owned();
            self.add(e.cond.span(), format!("!({cond})"), "the condition is turned round".into());
        }
        visit::visit_expr_if(self, e);
    }
}

fn sites(text: &str) -> Vec<Site> {
    let file = syn::parse_file(text).expect("sources that compile");
    let mut finder = Finder { text: Text::of(text), sites: Vec::new() };
    finder.visit_file(&file);
    finder.sites
}

/// A small generator: which mutants are taken hangs on the seed alone.
fn next(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let root = Path::new(&args[0]).join("src");
    let (count, mut seed): (usize, u64) = (args[1].parse().expect("a count"), args[2].parse().expect("a seed"));
    let left_out: Vec<usize> = args[3..].iter().map(|a| a.parse().expect("a number")).collect();
    // Folder, then file, then site.
    let mut layers: BTreeMap<String, Vec<(PathBuf, Site)>> = BTreeMap::new();
    for (layer, path) in sources(&root) {
        let text = fs::read_to_string(&path).expect("a source");
        layers.entry(layer).or_default().extend(sites(&text).into_iter().map(|s| (path.clone(), s)));
    }
    let mut taken: Vec<(PathBuf, Site)> = Vec::new();
    while taken.len() < count && layers.values().any(|l| !l.is_empty()) {
        for list in layers.values_mut().filter(|l| !l.is_empty()) {
            let at = usize::try_from(next(&mut seed) % list.len() as u64).expect("an index");
            let (path, site) = list.swap_remove(at);
            let apart = taken.iter().all(|(p, s)| *p != path || s.to <= site.from || s.from >= site.to);
            if apart && taken.len() < count {
                taken.push((path, site));
            }
        }
    }
    let mut files: BTreeMap<PathBuf, Vec<(usize, Site)>> = BTreeMap::new();
    for (id, (path, site)) in taken.into_iter().enumerate() {
        let id = id + 1;
        println!(
            "{id}\t{}:{}\t{}\t{}",
            path.strip_prefix(&root).expect("below").display(),
            site.line,
            site.what,
            site.instead.replace('\n', " ")
        );
        if !left_out.contains(&id) {
            files.entry(path).or_default().push((id, site));
        }
    }
    for (path, mut list) in files {
        let mut text = fs::read_to_string(&path).expect("a source");
        list.sort_by_key(|(_, s)| std::cmp::Reverse(s.from));
        for (id, site) in list {
            let was = text[site.from..site.to].to_owned();
            let new = format!("(if crate::mutated::on({id}) {{ {} }} else {{ {was} }})", site.instead);
            text.replace_range(site.from..site.to, &new);
        }
        fs::write(&path, text).expect("a source");
    }
    declare(&root, "mutated", SWITCH);
}

/// The switch, in the copy: `MUTANT` is the number of the one that is on, `MUTANTS_MET` a file to which each process adds the
/// numbers of the places that it comes by.
const SWITCH: &str = r#"//! Which mutant is on.
use std::io::Write as _;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

static ON: OnceLock<u32> = OnceLock::new();
static MET: OnceLock<Option<std::path::PathBuf>> = OnceLock::new();
static KNOWN: [AtomicBool; 4096] = [const { AtomicBool::new(false) }; 4096];

/// Whether it is this one.
#[inline(never)]
pub(crate) fn on(id: u32) -> bool {
    if let Some(file) = MET.get_or_init(|| std::env::var_os("MUTANTS_MET").map(Into::into)) {
        if !KNOWN[id as usize].swap(true, Ordering::Relaxed) {
            let mut file = std::fs::OpenOptions::new().create(true).append(true).open(file).unwrap();
            file.write_all(format!("{id}\n").as_bytes()).unwrap();
        }
    }
    *ON.get_or_init(|| std::env::var("MUTANT").ok().and_then(|v| v.parse().ok()).unwrap_or(0)) == id
}
"#;
