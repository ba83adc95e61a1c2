// Solves the networks that TestWriteComparison wrote with a general-purpose
// library for Bayesian networks, and prints both times side by side.
//
//   node compare.mjs FOLDER [SECONDS]
//
// Each finding is given as the general library takes it most kindly: as one
// table over all its causes, or as a chain in which one cause at a time is
// added (the same network, written with small tables). Tables over more than
// 10 causes are not tried. A run that takes longer than SECONDS (60) is given up.
import { fork } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import bayes from "bayesjs";

const mostParents = 10;
const binary = (yes) => ({ T: yes, F: 1 - yes });

function addTable(network, id, causes, finding) {
  const rows = [];
  for (let set = 0; set < 1 << causes.length; set++) {
    let no = finding.Background.No;
    const when = {};
    causes.forEach((link, i) => {
      when["c" + link.Source] = set & (1 << i) ? "T" : "F";
      if (set & (1 << i)) no *= link.No;
    });
    rows.push({ when, then: binary(1 - no) });
  }
  const parents = causes.map((link) => "c" + link.Source);
  network[id] = { id, states: ["T", "F"], parents, cpt: parents.length ? rows : rows[0].then };
}

function addChain(network, id, causes, finding) {
  let before = id + ".0";
  network[before] = { id: before, states: ["T", "F"], parents: [], cpt: binary(finding.Background.Yes) };
  causes.forEach((link, i) => {
    const here = i + 1 === causes.length ? id : `${id}.${i + 1}`;
    const cause = "c" + link.Source;
    const row = (b, c, yes) => ({ when: { [before]: b, [cause]: c }, then: binary(yes) });
    const cpt = [row("T", "T", 1), row("T", "F", 1), row("F", "T", link.Yes), row("F", "F", 0)];
    network[here] = { id: here, states: ["T", "F"], parents: [before, cause], cpt };
    before = here;
  });
}

function build(problem, chains) {
  const network = {}, given = {};
  problem.Sources.forEach((s, c) => (network["c" + c] = { id: "c" + c, states: ["T", "F"], parents: [], cpt: binary(s.Chance) }));
  const add = (kind, answer) => (finding, i) => {
    const causes = finding.Links || [];
    if (!chains && causes.length > mostParents) throw new Error("a table over " + causes.length + " causes");
    (chains && causes.length ? addChain : addTable)(network, kind + i, causes, finding);
    given[kind + i] = answer;
  };
  problem.Present.forEach(add("present", "T"));
  problem.Absent.forEach(add("absent", "F"));
  return { network, given };
}

// solve runs at least three times, up to a second, and gives the shortest time.
function solve({ Problem, Posterior }, chains) {
  const { network, given } = build(Problem, chains);
  let least = Infinity, worst = 0, runs = 0;
  for (const from = performance.now(); runs < 3 || performance.now() - from < 1000; runs++) {
    const start = performance.now();
    const all = bayes.inferAll(network, { ...given }, { precision: 12 }); // the tree of the same network is kept
    least = Math.min(least, performance.now() - start);
    worst = Math.max(...Posterior.map((p, c) => Math.abs(p - all["c" + c].T)));
  }
  return { milliseconds: least, runs, difference: worst };
}

if (process.send) {
  const [file, chains] = process.argv.slice(2);
  let out;
  try {
    out = solve(JSON.parse(readFileSync(file)), chains === "true");
  } catch (error) {
    out = { failed: error.message };
  }
  process.send(out, () => process.exit());
} else {
  await main(process.argv[2], Number(process.argv[3] || 60));
}

async function main(folder, seconds) {
  console.log("| network | this package | as tables | as chains | times as fast as the better | largest difference |");
  console.log("| --- | --- | --- | --- | --- | --- |");
  const files = readdirSync(folder).filter((f) => /^network-\d+\.json$/.test(f)).sort();
  for (const file of files.map((f) => join(folder, f))) {
    const network = JSON.parse(readFileSync(file));
    const tables = await beside(file, false, seconds), chains = await beside(file, true, seconds);
    const done = [tables, chains].filter((r) => r.milliseconds);
    const better = Math.min(...done.map((r) => r.milliseconds));
    const ours = network.NanosPerRun / 1e6;
    const say = (r) => (r.milliseconds ? r.milliseconds.toPrecision(3) + " ms" : r.failed);
    const ratio = done.length ? Math.round(better / ours) : "-";
    const difference = done.length ? Math.max(...done.map((r) => r.difference)).toExponential(0) : "-";
    console.log(`| ${network.Name} | ${ours.toPrecision(3)} ms | ${say(tables)} | ${say(chains)} | ${ratio} | ${difference} |`);
  }
}

// beside runs one solve in a process of its own, which can be given up.
function beside(file, chains, seconds) {
  return new Promise((resolve) => {
    const child = fork(process.argv[1], [file, String(chains)], { execArgv: ["--max-old-space-size=4096"], silent: true });
    const timer = setTimeout(() => (child.kill(), resolve({ failed: `given up after ${seconds} s` })), seconds * 1000);
    child.on("message", (r) => (clearTimeout(timer), resolve(r)));
    child.on("exit", () => (clearTimeout(timer), resolve({ failed: "ran out of memory" })));
  });
}
