// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/command_line.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

#include "app/help_text.h"

using namespace clockassay;

namespace {

using Args = std::vector<std::string>;

CommandLine parsed(const Args& args) {
  const auto line = parse_command_line(args, "1.2.3");
  REQUIRE_MESSAGE(line.has_value(), line.error().message);
  return *line;
}

Error refused(const Args& args) {
  const auto line = parse_command_line(args, "1.2.3");
  REQUIRE_FALSE(line.has_value());
  CHECK(line.error().code == ErrorCode::kUsage);
  return line.error();
}

}  // namespace

TEST_CASE("parse_command_line: measure with everything") {
  const CommandLine line =
      parsed({"measure",       "--channel", "a",          "x.csv",
              "--channel=b",   "-",         "--timebase", "-12.3ppm+-2ppm",
              "--sample-rate", "24MHz",     "--from",     "1ms",
              "--span",        "2ms",       "--coverage", "0.99",
              "--format",      "csv",       "--strict",   "--json",
              "out.json",      "--quiet",   "--color",    "never",
              "--no-progress", "--jobs",    "3",          "--spectrum"});
  CHECK(line.command == Command::kMeasure);
  const ReadingArguments& a = line.reading;
  CHECK(a.captures == Args{"x.csv", "-"});
  CHECK(a.channels == Args{"a", "b"});
  REQUIRE(a.timebase);
  CHECK(a.timebase->kind == TimebaseKind::kCalibrated);
  CHECK(a.timebase->offset == Ppm(-12.3));
  CHECK(a.timebase->tolerance == Ppm(2.0));
  CHECK(a.sample_rate_hz == Rational(24000000));
  CHECK(a.from_s == Rational::make(1, 1000));
  CHECK(a.span_s == Rational::make(2, 1000));
  CHECK(a.coverage == 0.99);
  CHECK(a.format == "csv");
  CHECK(a.strict);
  CHECK(a.spectrum);
  CHECK_FALSE(a.progress);
  CHECK(a.json == "out.json");
  CHECK(a.quiet);
  CHECK(a.color == ColorWhen::kNever);
  CHECK(a.jobs == 3);
}

TEST_CASE("parse_command_line: what is not given stays at its default") {
  const ReadingArguments a = parsed({"measure", "x.csv"}).reading;
  CHECK_FALSE(a.timebase);
  CHECK_FALSE(a.reference);
  CHECK_FALSE(a.instrument);
  CHECK(a.coverage == 0.95);
  CHECK_FALSE(a.json.has_value());
  CHECK(a.color == ColorWhen::kAuto);
  CHECK_FALSE(a.jobs.has_value());
}

TEST_CASE("parse_command_line: an option takes one value, not the captures") {
  const ReadingArguments a =
      parsed({"measure", "--channel", "a", "x.vcd", "y.vcd"}).reading;
  CHECK(a.channels == Args{"a"});
  CHECK(a.captures == Args{"x.vcd", "y.vcd"});
}

TEST_CASE("parse_command_line: brackets in a path or name are just that") {
  const ReadingArguments a =
      parsed({"measure", "[a,b]", "--channel", "[c,d]"}).reading;
  CHECK(a.captures == Args{"[a,b]"});
  CHECK(a.channels == Args{"[c,d]"});
}

TEST_CASE("parse_command_line: an option is never another one's value") {
  CHECK(refused({"measure", "--timebase", "--json", "x.csv"}).message ==
        "--timebase: found no value, expected TOL");
  CHECK(refused({"measure", "x.csv", "--json"}).message ==
        "--json: found no value, expected FILE");
  CHECK(refused({"measure", "x.csv", "--json="}).message ==
        "--json: found no value, expected FILE");
}

TEST_CASE("parse_command_line: unknown names come with the nearest known one") {
  Error error = refused({"mesure", "x.csv"});
  CHECK(error.message == "unknown command \"mesure\"");
  CHECK(error.hint == "did you mean measure?");
  error = refused({"measure", "--timbase", "2ppm", "x.csv"});
  CHECK(error.message == "unknown option \"--timbase\"");
  CHECK(error.hint == "did you mean --timebase?");
  error = refused({"verify", "--toleranz=2ppm", "x.csv"});
  CHECK(error.message == "unknown option \"--toleranz\"");
  CHECK(error.hint == "did you mean --tolerance?");
  // Of another command.
  error = refused({"measure", "--expect", "12MHz", "x.csv"});
  CHECK(error.message == "unknown option \"--expect\"");
}

TEST_CASE("parse_command_line: a reference is a channel and its frequency") {
  const ReadingArguments a =
      parsed({"measure", "--reference", "a=b=10MHz+-50ppb", "--instrument",
              "i.json", "x.csv"})
          .reading;
  REQUIRE(a.reference);
  CHECK(a.reference->channel == "a=b");
  CHECK(a.reference->frequency_hz == Rational(10'000'000));
  CHECK(a.reference->tolerance_ppm == Rational::make(1, 20));
  CHECK(a.instrument == "i.json");
  CHECK(refused({"measure", "--reference", "ref", "x.csv"}).message ==
        "--reference: found \"ref\", expected a channel and its frequency");
  CHECK(refused({"measure", "--instrument", "-", "-"}).message ==
        "-: given twice, but standard input can be read only once");
}

TEST_CASE("parse_command_line: quantities are read with their units") {
  CHECK(refused({"measure", "--timebase", "30", "x.csv"})
            .message.starts_with("--timebase: "));
  CHECK(refused({"measure", "--sample-rate", "24mHz", "x.csv"})
            .message.find("found \"mHz\", which is a thousandth of a hertz") !=
        std::string::npos);
  CHECK(refused({"measure", "--span", "0s", "x.csv"}).message ==
        "--span: found 0, expected a length");
  CHECK(refused({"measure", "--coverage", "95", "x.csv"}).message ==
        "--coverage: found \"95\", expected 0 to 1, or percent");
  CHECK(refused({"measure", "--coverage", "1", "x.csv"}).message ==
        "--coverage: found 1, expected 0.5 or more and less than 1");
  CHECK(refused({"measure", "--sample-rate", "1e-30Hz", "x.csv"}).message ==
        "--sample-rate: found 1e-30Hz, expected between 0.001 Hz and 1000000 "
        "GHz");
  CHECK(refused({"measure", "--timebase=-100%+-2ppm", "x.csv"}).message ==
        "--timebase: found an offset of 10 % or more, expected less");
  CHECK(refused({"measure", "--jobs", "0", "x.csv"}).message ==
        "--jobs: found \"0\", expected a whole number from 1 to 1024");
  CHECK(refused({"measure", "--color", "blue", "x.csv"}).message ==
        "--color: found \"blue\", expected one of auto, always, never");
  CHECK(parsed({"measure", "--coverage", "95%", "x.csv"}).reading.coverage ==
        0.95);
}

TEST_CASE("parse_command_line: the stability table and its rows") {
  CHECK_FALSE(parsed({"measure", "a.csv"}).reading.stability);
  const auto octaves = parsed({"measure", "--stability", "a.csv"});
  REQUIRE(octaves.reading.stability);
  CHECK(octaves.reading.stability->taus.empty());
  const auto chosen =
      parsed({"measure", "--stability", "--tau", "1us,2.5ms,1", "a.csv"});
  CHECK(chosen.reading.stability->taus ==
        std::vector<Seconds>{Seconds(1e-6), Seconds(2.5e-3), Seconds(1.0)});
  CHECK(refused({"measure", "--tau", "1us", "a.csv"}).message ==
        "--tau: found no --stability beside it");
  CHECK(
      refused({"measure", "--stability", "--tau", "1us,0", "a.csv"}).message ==
      "--tau: found 0, expected a length of time");
  for (const char* wrong : {"1us,", ",1us", "-1us", "1us;2us", "1Hz"}) {
    CAPTURE(wrong);
    CHECK(refused({"measure", "--stability", "--tau", wrong, "a.csv"})
              .message.starts_with("--tau: "));
  }
  CHECK(refused({"verify", "--stability", "a.csv"}).message ==
        "unknown option \"--stability\"");
}

TEST_CASE("parse_command_line: what a CSV file does not say itself") {
  const ReadingArguments a = parsed({"verify",
                                     "--expect",
                                     "1MHz",
                                     "--tolerance",
                                     "1%",
                                     "--separator",
                                     "semicolon",
                                     "--decimal-mark",
                                     "comma",
                                     "--time-column",
                                     "3",
                                     "--time-unit",
                                     "us",
                                     "--time-steps",
                                     "--rows",
                                     "events",
                                     "--edges",
                                     "both-fall-first",
                                     "--levels",
                                     "-1, 1",
                                     "--radix",
                                     "16",
                                     "--tick",
                                     "1ps",
                                     "--threshold",
                                     "1.65V,200mV",
                                     "--sample-rate",
                                     "100MS/s",
                                     "x.csv"})
                                 .reading;
  CHECK(a.csv.separator == ';');
  CHECK(a.csv.decimal_mark == ',');
  CHECK(a.csv.time_column == "3");
  REQUIRE(a.csv.time_unit.has_value());
  CHECK_FALSE(a.csv.time_unit->samples);
  CHECK(a.csv.time_unit->exponent == -6);
  CHECK(a.csv.time_is_step);
  CHECK(a.csv.rows == CsvRows::kEvents);
  CHECK(a.csv.edges == LoneEdges::kBothFallFirst);
  CHECK(a.csv.levels == std::pair<std::string, std::string>{"-1", "1"});
  CHECK(a.csv.radix == 16);
  CHECK(a.csv.tick_s == Rational::make(1, 1'000'000'000'000));
  REQUIRE(a.analogue.has_value());
  CHECK(a.analogue->threshold == Rational::make(165, 100));
  CHECK(a.analogue->threshold_in_volts);
  CHECK(a.analogue->hysteresis == Rational::make(2, 10));
  CHECK(a.sample_rate_hz == Rational(100'000'000));
  CHECK(a.csv_only.size() == 11);

  const ReadingArguments none = parsed({"measure", "x.csv"}).reading;
  CHECK_FALSE(none.csv.separator.has_value());
  CHECK_FALSE(none.analogue.has_value());
  CHECK(none.csv_only.empty());
  const ReadingArguments other =
      parsed({"measure", "--threshold", "auto", "--time-unit", "sample",
              "--separator=blank", "x.csv"})
          .reading;
  CHECK(other.csv.separator == ' ');
  CHECK(other.csv.time_unit->samples);
  REQUIRE(other.analogue.has_value());
  CHECK_FALSE(other.analogue->threshold.has_value());
  CHECK_FALSE(other.analogue->hysteresis.has_value());
}

TEST_CASE("parse_command_line: wrong words about a CSV file are named") {
  struct Row {
    Args option;
    const char* message;
    const char* hint;
  };
  const Row rows[] = {
      {{"--separator", ","},
       "--separator: found \",\", expected one of comma, semicolon, tab, bar, "
       "blank",
       ""},
      {{"--decimal-mark", "."},
       "--decimal-mark: found \".\", expected one of point, comma",
       ""},
      {{"--time-unit", "h"},
       "--time-unit: found \"h\", expected one of s, ms, us, ns, ps, fs, "
       "sample",
       ""},
      {{"--rows", "all"},
       "--rows: found \"all\", expected one of changes, samples, events",
       ""},
      {{"--edges", "both"},
       "--edges: found \"both\", expected one of rising, both-rise-first, "
       "both-fall-first",
       ""},
      {{"--radix", "8"}, "--radix: found \"8\", expected one of 2, 10, 16", ""},
      {{"--time-column", "0"},
       "--time-column: found \"0\", expected a column's name, its number from "
       "1 on, or none",
       ""},
      {{"--time-column", "none", "--time-steps"},
       "--time-steps: does not go with --time-column none",
       "steps of time need the column they stand in"},
      {{"--time-column", "none", "--time-unit", "us"},
       "--time-unit: does not go with --time-column none",
       "without times the rows are samples: state --sample-rate"},
      {{"--levels", "high"},
       "--levels: found \"high\", expected two words with one comma between "
       "them: what low and high are written as, such as -1,1",
       ""},
      {{"--levels", "0,5,1"},
       "--levels: found \"0,5,1\", expected two words with one comma between "
       "them: what low and high are written as, such as -1,1",
       ""},
      {{"--levels", "1,1"},
       "--levels: found \"1,1\", expected two different words, such as -1,1",
       ""},
      {{"--levels", ",1"},
       "--levels: found \",1\", expected two different words, such as -1,1",
       ""},
      {{"--tick", "0s"},
       "--tick: found 0, expected the finest step of time",
       ""},
      {{"--threshold", "1,65"},
       "--threshold: found \"1,65\", which may be one number or two",
       "write one as 1.65, two as 1.0,65 or 1V,65V"},
      {{"--threshold", "high"},
       "--threshold: found \"high\", expected VOLTS, VOLTS,HYSTERESIS or "
       "auto, such as 1.65 or 1.65V,200mV",
       ""},
      {{"--threshold", "1.65,"},
       "--threshold: found \"1.65,\", expected VOLTS, VOLTS,HYSTERESIS or "
       "auto, such as 1.65 or 1.65V,200mV",
       ""},
      {{"--threshold", "1.65,-0.2"},
       "--threshold: found \"1.65,-0.2\", expected a hysteresis of zero or "
       "more",
       ""},
      // A VCD file says all this itself.
      {{"--format", "vcd", "--time-unit", "us"},
       "--time-unit: is about CSV files, and --format says vcd",
       "leave one of the two out"},
  };
  for (const Row& row : rows) {
    CAPTURE(row.message);
    Args args = {"measure", "x.csv"};
    args.insert(args.end(), row.option.begin(), row.option.end());
    const Error error = refused(args);
    CHECK(error.message == row.message);
    CHECK(error.hint == row.hint);
  }
}

TEST_CASE("parse_command_line: after -- everything is a capture") {
  const ReadingArguments a =
      parsed({"measure", "--quiet", "--", "--json", "-x.csv", "--help"})
          .reading;
  CHECK(a.quiet);
  CHECK(a.captures == Args{"--json", "-x.csv", "--help"});
  CHECK_FALSE(a.json.has_value());
  // An option's value is looked for before it.
  CHECK(refused({"measure", "--json", "--", "x.csv"}).message ==
        "--json: found no value, expected FILE");
  CHECK_FALSE(asks_for_json_output({"measure", "--", "--json", "-"}));
}

TEST_CASE("parse_command_line: what can be given once is refused twice") {
  CHECK(refused({"measure", "--json", "a", "--json", "b", "x.csv"}).message ==
        "--json is given twice");
}

TEST_CASE("parse_command_line: standard input is read once") {
  const std::string twice =
      "-: given twice, but standard input can be read only once";
  CHECK(refused({"measure", "-", "-"}).message == twice);
  CHECK(refused({"verify", "--spec", "-", "-"}).message == twice);
  CHECK(parsed({"verify", "--spec", "-", "x.csv"}).verify.spec == "-");
}

TEST_CASE("parse_command_line: captures are needed") {
  CHECK(refused({}).message == "found no command");
  CHECK(refused({"measure"}).message ==
        "CAPTURE: found none, expected a file, or - for standard input");
}

TEST_CASE("parse_command_line: verify needs one thing to judge by") {
  CHECK(refused({"verify", "x.csv"}).message ==
        "verify: found neither --spec nor --expect");
  CHECK(refused({"verify", "--expect", "12MHz", "x.csv"}).message ==
        "--expect: found no --tolerance beside it");
  CHECK(refused({"verify", "--spec", "s", "--tolerance", "3ppm", "x.csv"})
            .message == "--tolerance: does not go with --spec");
  const VerifyArguments a =
      parsed({"verify", "--expect", "24MHz / 2", "--tolerance", "30ppm",
              "--requirement", "usb-fs-device", "--requirement", "uart",
              "--allow-undecided", "x.csv"})
          .verify;
  CHECK(a.expect == "24MHz / 2");
  CHECK(a.tolerance == "30ppm");
  CHECK(a.requirements == Args{"usb-fs-device", "uart"});
  CHECK(a.allow_undecided);
}

TEST_CASE("parse_command_line: simulate with everything") {
  const SimulateArguments a =
      parsed(
          {"simulate",      "--frequency", "12MHz",    "--ppm",   "-20",
           "--sample-rate", "100MHz",      "--cycles", "1000",    "--jitter",
           "300ps",         "--duty",      "40%",      "--drop",  "0.01",
           "--glitch",      "0.02",        "--seed",   "7",       "--channel",
           "out",           "--out",       "x.vcd",    "--truth", "x.json"})
          .simulate;
  CHECK(a.clock.frequency_hz == Rational(12000000));
  CHECK(a.clock.offset_ppm == Rational(-20));
  CHECK(a.clock.sample_rate_hz == Rational(100000000));
  CHECK(a.clock.cycles == 1000);
  CHECK_FALSE(a.clock.duration_s.has_value());
  CHECK(a.clock.jitter_rms_s == 3e-10);
  CHECK(a.clock.duty == Rational::make(2, 5));
  CHECK(a.clock.drop_probability == 0.01);
  CHECK(a.clock.glitch_probability == 0.02);
  CHECK(a.clock.seed == 7);
  CHECK(a.channel == "out");
  CHECK(a.vcd);
  CHECK(a.truth == "x.json");
}

TEST_CASE("parse_command_line: simulate says what is missing") {
  const Args base = {"simulate",      "--frequency", "12MHz",
                     "--sample-rate", "100MHz",      "--out"};
  const auto with = [&base](const Args& more) {
    Args args = base;
    args.insert(args.end(), more.begin(), more.end());
    return args;
  };
  CHECK(refused(with({"x.csv"})).message ==
        "--cycles: needed, or --duration, one of the two");
  CHECK(refused(with({"x.csv", "--cycles", "5", "--duration", "1s"})).message ==
        "--cycles: needed, or --duration, one of the two");
  CHECK(refused(with({"x.dat", "--cycles", "5"})).message ==
        "--out: the suffix says neither .csv nor .vcd");
  CHECK(
      parsed(with({"x.dat", "--cycles", "5", "--format", "vcd"})).simulate.vcd);
  CHECK(refused({"simulate", "--frequency", "12MHz"}).message ==
        "--sample-rate: is needed");
  CHECK(refused(with({"x.csv", "--cycles", "5", "y.csv"})).message ==
        "simulate: found \"y.csv\", expected only options");
}

TEST_CASE("parse_command_line: drift takes one series and a range") {
  const CommandLine line =
      parsed({"drift", "rtc.csv", "--expect", "24MHz / 2", "--tolerance",
              "50ppm", "--range", "-40..85", "--junit", "out.xml"});
  CHECK(line.command == Command::kDrift);
  CHECK(line.reading.captures == std::vector<std::string>{"rtc.csv"});
  CHECK(line.drift.expect->frequency_hz == Rational(12'000'000));
  CHECK(line.drift.tolerance->high_ppm == Rational(50));
  CHECK(line.drift.range->low_c == Rational(-40));
  CHECK(line.drift.junit == "out.xml");
  const CommandLine more = parsed(
      {"drift", "rtc.csv", "--thermometer", "500mK", "--ageing-limit", "0ppm"});
  CHECK(more.drift.thermometer_k == Rational::make(1, 2));
  CHECK(more.drift.ageing_limit->high_ppm == Rational(0));
  CHECK(
      parsed({"drift", "rtc.csv", "--thermometer", "0K"}).drift.thermometer_k ==
      Rational(0));
  CHECK(refused({"drift", "a.csv", "--ageing-limit", "1"})
            .message.find("--ageing-limit: ") == 0);
  CHECK(refused({"drift", "a.csv", "b.csv"}).message ==
        "SERIES: found 2, expected one");
  CHECK(refused({"drift"}).message ==
        "SERIES: found none, expected a file, or - for standard input");
  // What was measured must not choose what has to hold.
  CHECK(refused({"drift", "a.csv", "--tolerance", "5ppm"}).message ==
        "--tolerance: found no --range beside it");
  CHECK(refused({"drift", "-", "--temperature-log", "-"})
            .message.starts_with("-: given twice"));
}

TEST_CASE("help: every option of a command is in it, in 80 columns") {
  CHECK(*parsed({"--version"}).answer == "clockassay 1.2.3\n");
  CHECK(*parsed({"--help"}).answer == general_help());
  for (const CommandInfo& command : commands()) {
    const std::string help =
        *parsed({std::string(command.name), "--help"}).answer;
    for (const OptionInfo& option : options_of(command.command)) {
      CHECK(help.find("  " + std::string(option.name)) != std::string::npos);
    }
    std::istringstream lines(help + general_help());
    for (std::string line; std::getline(lines, line);) {
      INFO("line: " << line);
      CHECK(line.size() <= 80);
    }
  }
}

TEST_CASE("parse_command_line: what the table has words for takes just these") {
  int with_words = 0;
  for (const OptionInfo& option : options_of(Command::kMeasure)) {
    if (option.words.empty()) continue;
    ++with_words;
    const std::string name(option.name);
    std::string list;
    for (const std::string_view word : option.words) {
      parsed({"measure", "x.csv", name, std::string(word)});
      list += (list.empty() ? "" : ", ") + std::string(word);
    }
    CHECK(refused({"measure", "x.csv", name, "zz"}).message ==
          name + ": found \"zz\", expected one of " + list);
  }
  // --format, --color, --separator, --decimal-mark, --time-unit, --rows,
  // --edges, --radix.
  CHECK(with_words == 8);
  CHECK(words_allowed(Command::kPlanLoad, "--e-series").size() == 2);
  CHECK(words_allowed(Command::kMeasure, "--timebase").empty());
}

TEST_CASE("asks_for_json_output: even where the rest is wrong") {
  CHECK(asks_for_json_output({"measure", "--bogus", "--json", "-"}));
  CHECK(asks_for_json_output({"measure", "--json=-"}));
  CHECK_FALSE(asks_for_json_output({"measure", "--json", "a", "-"}));
}
