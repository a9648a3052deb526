// SPDX-License-Identifier: GPL-3.0-or-later
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "app/exit_codes.h"
#include "app/help_text.h"
#include "app/manual/manual.h"
#include "app/manual/roff.h"
#include "app/option_table.h"
#include "app/plan_options.h"

namespace clockassay {
namespace {

struct Entry {
  const char* term;
  const char* text;
};

constexpr const char* kDescription[] = {
    "clockassay looks at captures of a clock pin, taken by a logic analyzer, "
    "and says how true the clock is: its frequency and how sure that is, how "
    "far off in ppm, how it jitters; whether that is good enough for the "
    "tolerance of its crystal and for what hangs on the clock; and, when it is "
    "not, why, and what to change.",
    "Verdicts are pass, fail or undecided. A clock passes where its error lies "
    "within the limits with all of its expanded uncertainty U, it fails where "
    "all of that lies outside, and else it is undecided: nothing is guessed. "
    "The clock of the capturing instrument is usually the weakest link; not "
    "told otherwise (--timebase), 100 ppm are assumed for it, and said.",
    "Quantities carry units: 12MHz, 32.768kHz; 30ppm, 50ppb, 0.25%; 12pF; "
    "10ms; 60ohm; 23degC. An expected frequency may be a clock path, which is "
    "worked out exactly: '24MHz / 2 / 16'."};

constexpr const char* kNoCertificate =
    "A result is one capture of one board at one temperature. It is no "
    "calibration certificate, and no clearance of anything to do with safety. "
    "Whether the timebase is right, a capture cannot show unless a known clock "
    "was recorded with it; nor can it show another temperature, another board, "
    "or next year.";

constexpr Entry kEnvironment[] = {
    {"NO_COLOR",
     "If it is set and not empty, no colour, unless --color says always."},
    {"CLOCKASSAY_KERNELS",
     "The fastest instructions that may be used: plain or avx2. Results do not "
     "depend on it. Default: what the machine has."}};

constexpr Entry kFiles[] = {
    {"CAPTURE",
     "VCD or CSV, recognised by content; gzip and zstd are read directly. "
     "docs: formats/vcd.md, formats/csv.md."},
    {"specification (--spec)",
     "JSON: clocks, what is expected of them, what could be wrong. docs: "
     "specification.md."},
    {"instrument (--instrument)",
     "JSON: what is known of the capturing instrument. docs: uncertainty.md."},
    {"result (--json)",
     "JSON after the schema schema/clockassay-1.schema.json of the docs."},
    {"store (--store)",
     "An SQLite file, or a PostgreSQL database. docs: history.md."},
    {"share/doc/clockassay/docs",
     "The docs, below the folder the program was installed to."}};

// Each can be run after the one before it; a test does.
constexpr Entry kExamples[] = {
    {"Make a capture of a clock that is 18 ppm fast:",
     "clockassay simulate --frequency 12MHz --ppm 18 --sample-rate 100MHz "
     "--duration 10ms --jitter 300ps --out clock.vcd"},
    {"Say what is on its channels; the instrument is good for 2 ppm:",
     "clockassay measure --timebase 2ppm clock.vcd"},
    {"Does it conform? Result for programs, and as JUnit XML for CI systems:",
     "clockassay verify --expect '24MHz / 2' --tolerance 30ppm --timebase 2ppm "
     "--json clock.json --junit clock.xml clock.vcd"},
    {"Could a capture decide it, how long, how fast?",
     "clockassay plan capture --expect 12MHz --tolerance 30ppm --sample-rate "
     "24MS/s --timebase 5ppm"}};

// Options of several commands stand once, with the commands that have them;
// those of plan are few enough to stand with each.
bool stands_once(const OptionInfo& option) {
  int count = 0;
  for (const CommandInfo& c : commands()) {
    if (option.is_of(c.command) && !is_plan(c.command)) ++count;
  }
  return count > 1;
}

std::string term_of(const OptionInfo& option) {
  if (option.value.empty()) return roff_bold(option.name);
  const bool in_one_word = option.value.starts_with('[');
  return roff_bold(option.name) + (in_one_word ? "" : " ") +
         roff_italic(option.value);
}

// A line of its own, which may be broken behind commas.
std::string own_line(std::string_view line) {
  std::string out = ".br\n";
  for (const char c : roff_text(line)) {
    out += c;
    if (c == ',') out += "\\:";
  }
  return out + "\n.br\n";
}

std::string note_of(Command command) {
  std::istringstream lines(arguments_note(command));
  std::string out;
  for (std::string line; std::getline(lines, line);) {
    out += line.starts_with("  ") ? own_line(line.substr(2))
                                  : roff_text(line) + '\n';
  }
  return out.empty() ? out : ".PP\n" + out;
}

std::string command_section(const CommandInfo& command) {
  std::string heading(command.name);
  if (!command.arguments.empty()) {
    heading += ' ' + roff_italic(command.arguments);
  }
  std::string out =
      roff_heading("SS", heading) + roff_text(command.job) + ".\n";
  out += note_of(command.command);
  bool more = false;
  for (const OptionInfo& option : options_of(command.command)) {
    if (stands_once(option)) {
      more = true;
    } else {
      out += roff_entry(term_of(option), roff_text(option.help));
    }
  }
  if (more) {
    out += ".PP\nAnd those below that name " + roff_bold(command.name) + ".\n";
  }
  return out;
}

std::string options_of_several() {
  std::string out = roff_heading("SS", "Options of several commands");
  for (const OptionInfo& option : all_options()) {
    if (!stands_once(option)) continue;
    std::string of;
    for (const CommandInfo& c : commands()) {
      if (!option.is_of(c.command)) continue;
      of += (of.empty() ? "" : ", ") + roff_text(c.name);
    }
    out +=
        roff_entry(term_of(option), roff_text(option.help) + "\n(" + of + ')');
  }
  return out + roff_entry(roff_bold("--help"),
                          "print the options of a command (every command)");
}

std::string synopsis() {
  std::string out = roff_heading("SH", "SYNOPSIS");
  for (const CommandInfo& c : commands()) {
    out += roff_bold("clockassay " + std::string(c.name)) + " [" +
           roff_italic("options") + ']';
    if (!c.arguments.empty()) out += ' ' + roff_italic(c.arguments);
    out += "\n.br\n";
  }
  return out + roff_bold("clockassay --help") + "\n.br\n" +
         roff_bold("clockassay --version") + '\n';
}

std::string entries(std::string_view heading, const Entry* first,
                    const Entry* last) {
  std::string out = roff_heading("SH", heading);
  for (; first != last; ++first) {
    out += roff_entry(roff_bold(first->term), roff_text(first->text));
  }
  return out;
}

std::string examples() {
  std::string out = roff_heading("SH", "EXAMPLES");
  for (const Entry& e : kExamples) {
    out += ".PP\n" + roff_text(e.term) + "\n.RS 4\n" + roff_text(e.text) +
           "\n.RE\n";
  }
  return out;
}

}  // namespace

std::string manual_page(const std::string& version) {
  // No date: the same source gives the same page.
  std::string out = ".TH CLOCKASSAY 1 \"\" \"clockassay " + version +
                    "\" \"User Commands\"\n.ad l\n.nh\n";
  out += roff_heading("SH", "NAME") +
         "clockassay \\- say from a capture how true a clock is\n" +
         synopsis() + roff_heading("SH", "DESCRIPTION");
  for (const char* paragraph : kDescription) {
    out += ".PP\n" + roff_text(paragraph) + '\n';
  }
  out += roff_heading("SH", "COMMANDS");
  for (const CommandInfo& c : commands()) out += command_section(c);
  out += options_of_several() + roff_heading("SH", "EXIT STATUS");
  for (const ExitMeaning& e : exit_meanings()) {
    out += roff_entry(roff_bold(std::to_string(static_cast<int>(e.code))),
                      roff_text(e.meaning));
  }
  out +=
      entries("ENVIRONMENT", std::begin(kEnvironment), std::end(kEnvironment)) +
      entries("FILES", std::begin(kFiles), std::end(kFiles)) + examples();
  out += roff_heading("SH", "WHAT A RESULT IS NOT") +
         roff_text(kNoCertificate) + '\n';
  return out + roff_heading("SH", "SEE ALSO") +
         "README.md in share/doc/clockassay for a worked example; in docs " +
         "beside it measurement\\-model.md and uncertainty.md for how the " +
         "numbers come about.\n";
}

}  // namespace clockassay
