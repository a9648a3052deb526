// SPDX-License-Identifier: GPL-3.0-or-later
// The compressed bytes come from the usual command line tools: those written
// here from `printf 'time_s,clk\n0,0\n1e-6,1\n' | gzip -n` and `| zstd`, those
// of testdata/capture/compressed from `gzip -n -9 -k` and `zstd -19 -k`.
#include "clockassay/capture/decompress.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <sstream>
#include <string>

#include "capture/member_decoder.h"

using namespace clockassay;

namespace {

const std::string kText = "time_s,clk\n0,0\n1e-6,1\n";

std::string from_hex(std::string_view hex) {
  std::string bytes;
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
    bytes += static_cast<char>(
        std::stoi(std::string(hex.substr(i, 2)), nullptr, 16));
  }
  return bytes;
}

const std::string kGzip = from_hex(
    "1f8b08000000000000032bc9cc4d8d2fd649cec9e632d031e0324cd535d331e40200b58ae1"
    "7616000000");
const std::string kZstd = from_hex(
    "28b52ffd2416b1000074696d655f732c636c6b0a302c300a31652d362c310aa11ec24b");
const std::string kEmptyGzip =
    from_hex("1f8b080000000000000303000000000000000000");
const std::string kEmptyZstd = from_hex("28b52ffd240001000099e9d851");
using Sizes = std::initializer_list<std::size_t>;
constexpr std::size_t kAll = 1 << 20;  // more than any of these texts
const std::string kZeros(700, '\0');

std::string file(const std::string& name,
                 const std::string& folder = "compressed") {
  std::ifstream in(std::string(CLOCKASSAY_SOURCE_DIR) + "/testdata/capture/" +
                       folder + "/" + name,
                   std::ios::binary);
  REQUIRE(in);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

// A source that gives at most `step` bytes at a time.
ByteSource bytes_by(std::string bytes, std::size_t step) {
  return [bytes, step, at = std::size_t{0}](
             std::span<char> buffer) mutable -> Result<std::size_t> {
    const std::size_t size = std::min({step, buffer.size(), bytes.size() - at});
    std::memcpy(buffer.data(), bytes.data() + at, size);
    at += size;
    return size;
  };
}

// Leaves nothing of what calls before it had on the stack.
[[gnu::noinline]] void spoil_stack(int with) {
  volatile char bytes[16384];
  for (volatile char& b : bytes) b = static_cast<char>(with);
}

struct Outcome {
  std::string text;
  Compression found = Compression::kNone;
  std::optional<Error> error;
};

Outcome unpacked(const std::string& bytes, std::size_t in_step = kAll,
                 std::size_t out_step = kAll) {
  Outcome outcome;
  const ByteSource source = decompress(bytes_by(bytes, in_step), outcome.found);
  std::string buffer(out_step, '?');
  while (true) {
    const auto got = source(buffer);
    if (!got) {
      outcome.error = got.error();
      // A source that failed once fails for good.
      const auto again = source(buffer);
      CHECK((!again && again.error().message == got.error().message));
      return outcome;
    }
    if (*got == 0) break;
    outcome.text += buffer.substr(0, *got);
  }
  CHECK(source(buffer).value_or(1) == 0);
  return outcome;
}

void check_error(const std::string& bytes, const std::string& message,
                 std::int64_t byte) {
  for (const std::size_t step : Sizes{1, 3, kAll}) {
    CAPTURE(step);
    const Outcome outcome = unpacked(bytes, step);
    REQUIRE(outcome.error.has_value());
    CHECK(outcome.error->code == ErrorCode::kBadData);
    CHECK(outcome.error->message == message);
    CHECK(outcome.error->hint ==
          "nothing of it is used; get the file again from where it was made");
    CHECK(outcome.error->byte.value_or(-1) == byte);
  }
}

}  // namespace

TEST_CASE("decompress: gives the text, however the bytes come and go") {
  struct Row {
    std::string bytes;
    std::string text;
    Compression found;
  };
  const std::string clock = file("clock.csv");
  const Row rows[] = {
      {kGzip, kText, Compression::kGzip},
      {kZstd, kText, Compression::kZstd},
      {kText, kText, Compression::kNone},
      {"", "", Compression::kNone},
      {"0", "0", Compression::kNone},
      {kEmptyGzip, "", Compression::kGzip},
      {kEmptyZstd, "", Compression::kZstd},
      {file("clock.csv.gz"), clock, Compression::kGzip},
      {file("clock.csv.zst"), clock, Compression::kZstd},
      // Named as if it were text.
      {file("gzip.vcd"), file("plain.vcd", "vcd/valid"), Compression::kGzip},
      {clock, clock, Compression::kNone},
  };
  for (const Row& row : rows) {
    for (const std::size_t in : Sizes{1, 2, 3, 7, 64, kAll}) {
      for (const std::size_t out : Sizes{1, 5, 4096, kAll}) {
        CAPTURE(row.bytes.size());
        CAPTURE(in);
        CAPTURE(out);
        const Outcome outcome = unpacked(row.bytes, in, out);
        CHECK_FALSE(outcome.error.has_value());
        CHECK(outcome.text == row.text);
        CHECK(outcome.found == row.found);
      }
    }
  }
}

TEST_CASE(
    "decompress: members in a row are one text, zeros after them padding") {
  // A skippable frame of three bytes, RFC 8878, 3.1.2.
  const std::string skippable = from_hex("502a4d1803000000aabbcc");
  struct Row {
    std::string bytes;
    std::string text;
  };
  const Row rows[] = {
      {kGzip + kGzip, kText + kText},
      {kEmptyGzip + kGzip + kEmptyGzip + kGzip, kText + kText},
      {kGzip + kZeros, kText},
      {kGzip + std::string(1, '\0'), kText},
      {file("clock.csv.gz") + kGzip, file("clock.csv") + kText},
      {kZstd + kZstd, kText + kText},
      {kEmptyZstd + kZstd, kText},
      {skippable + kZstd + skippable + kZstd, kText + kText},
      {kZstd + kZeros, kText},
  };
  for (const Row& row : rows) {
    for (const std::size_t in : Sizes{1, 5, kAll}) {
      CAPTURE(row.bytes.size());
      CAPTURE(in);
      const Outcome outcome = unpacked(row.bytes, in);
      CHECK_FALSE(outcome.error.has_value());
      CHECK(outcome.text == row.text);
    }
  }
}

TEST_CASE("decompress: a header with every field of RFC 1952 is read") {
  // FTEXT, FHCRC, FEXTRA, FNAME and FCOMMENT; the CRC16 is the low half of
  // the CRC-32 of the 24 bytes before it, computed with Python's zlib.crc32.
  const std::string fields = from_hex("1f8b081f0000000000030400") + "abcd" +
                             std::string("n.csv\0c\0", 8);
  CHECK(fields.size() == 24);
  const std::string whole = fields + from_hex("cd18") + kGzip.substr(10);
  for (const std::size_t in : Sizes{1, kAll}) {
    const Outcome outcome = unpacked(whole, in);
    CHECK_FALSE(outcome.error.has_value());
    CHECK(outcome.text == kText);
  }
}

TEST_CASE("decompress: every truncation is an error at its end") {
  for (const std::string& bytes : {kGzip, kZstd}) {
    const std::string name = bytes == kGzip ? "gzip" : "zstd";
    // With fewer bytes it is not known to be compressed.
    for (std::size_t size = 4; size < bytes.size(); ++size) {
      CAPTURE(size);
      check_error(bytes.substr(0, size),
                  "found the end of the file inside " + name +
                      " data, expected its end",
                  static_cast<std::int64_t>(size));
      // A second member cut short is as bad.
      check_error(bytes + bytes.substr(0, size),
                  "found the end of the file inside " + name +
                      " data, expected its end",
                  static_cast<std::int64_t>(bytes.size() + size));
    }
  }
}

TEST_CASE("decompress: no flipped bit gives another text") {
  for (const char* name : {"clock.csv.gz", "clock.csv.zst"}) {
    const std::string good = file(name);
    const std::string text = file("clock.csv");
    for (std::size_t bit = 0; bit < 8 * good.size(); ++bit) {
      std::string bytes = good;
      bytes[bit / 8] = static_cast<char>(bytes[bit / 8] ^ (1 << bit % 8));
      const Outcome outcome = unpacked(bytes);
      // Without its magic it is no compressed file, and its bytes no text.
      const bool safe = outcome.error || outcome.found == Compression::kNone ||
                        outcome.text == text;
      if (safe) continue;
      CAPTURE(name);
      FAIL_CHECK("bit " << bit);
    }
  }
}

TEST_CASE("decompress: a gzip header with all parts may come in any parts") {
  // By Python's zlib, after RFC 1952: extra field, name, comment, header CRC.
  const std::string bytes = from_hex(
      "1f8b081e000000000003030061626361006200f78c"
      "2bc9cc4d8d2fd649cec9e632d031e0324cd535d331e40200b58ae17616000000");
  for (std::size_t cut = 1; cut < bytes.size(); ++cut) {
    for (const int with : {0x00, 0x10, 0xFF}) {
      CAPTURE(cut);
      const auto decoder = make_gzip_decoder();
      REQUIRE(decoder);
      std::string text(100, '?');
      std::size_t size = 0;
      DecoderStep step;
      for (std::string_view part : {std::string_view(bytes).substr(0, cut),
                                    std::string_view(bytes).substr(cut)}) {
        step = decoder->step(part, std::span(text).subspan(size));
        size += step.produced;
        CHECK(step.damage == nullptr);
        CHECK(part.empty());
        spoil_stack(with);
      }
      CHECK(step.ended);
      CHECK(text.substr(0, size) == kText);
    }
  }
}

TEST_CASE("decompress: what is damaged is called so however it is read") {
  // A frame of 25 kB by its header, whose block and checksum are both wrong.
  const std::string frame = from_hex(
      "28b52ffd6500006105000060600000002"
      "42c030002000002033802");
  const Outcome whole = unpacked(frame);
  REQUIRE(whole.error.has_value());
  for (const std::size_t at_once : Sizes{1, 3, 4, 5, 7, kAll}) {
    for (const std::size_t room : Sizes{1, 4, kAll}) {
      const Outcome parts = unpacked(frame, at_once, room);
      REQUIRE(parts.error.has_value());
      CHECK(parts.error->message == whole.error->message);
    }
  }
}

TEST_CASE("decompress: a header that holds the mark of a skippable frame") {
  // RFC 8878, 3.1.1.1: descriptor 0x50, content size of two bytes less 256;
  // window 0x2A, 40 kB; 0x184D + 256 bytes, in one raw block, the last.
  const std::string text(0x184D + 256, 'x');
  const std::string frame = from_hex("28b52ffd502a4d1869ca00") + text;
  for (const std::size_t at_once : Sizes{1, 4, kAll}) {
    const Outcome read = unpacked(frame, at_once);
    CHECK_FALSE(read.error.has_value());
    CHECK(read.text == text);
  }
}

TEST_CASE("decompress: what is damaged is named with where it begins") {
  const auto with = [](std::string bytes, std::size_t at, char byte) {
    bytes[at] = byte;
    return bytes;
  };
  const auto size = [](const std::string& bytes) {
    return static_cast<std::int64_t>(bytes.size());
  };
  // Alone, and as the second member.
  for (const std::string& before : {std::string(), kGzip}) {
    check_error(
        before + with(kGzip, kGzip.size() - 8, 0),
        "found damaged gzip data: a checksum or length that does not fit",
        size(before));
    check_error(
        before + with(kGzip, kGzip.size() - 1, 1),
        "found damaged gzip data: a checksum or length that does not fit",
        size(before));
    check_error(before + with(kGzip, 2, 7),
                "found damaged gzip data: another method than deflate",
                size(before));
  }
  for (const std::string& before : {std::string(), kZstd}) {
    check_error(before + with(kZstd, kZstd.size() - 1, 0),
                "found damaged zstd data: a checksum that does not fit",
                size(before));
  }
  // Window descriptor F8: 2^41 bytes, RFC 8878, 3.1.1.1.2.
  check_error(from_hex("28b52ffd00f8"),
              "found damaged zstd data: a window of more than 128 MiB", 0);
  check_error(kGzip + "x",
              "found \"x\" after the end of the gzip data, expected more of it "
              "or nothing",
              size(kGzip));
  check_error(kGzip + kZeros + "time_s,clk",
              "found \"time_s,clk\" after the end of the gzip data, expected "
              "more of it or nothing",
              size(kGzip + kZeros));
  check_error(kZstd + kGzip.substr(0, 3),
              "found \"\\x1F\\x8B\\x08\" after the end of the zstd data, "
              "expected more of it or nothing",
              size(kZstd));
}

TEST_CASE("decompress: what the source says is passed on") {
  Compression found = Compression::kNone;
  const ByteSource source = decompress(
      [first = true](std::span<char> buffer) mutable -> Result<std::size_t> {
        if (!first) return failure(ErrorCode::kReadFailed, "gone");
        first = false;
        std::memcpy(buffer.data(), kGzip.data(), 20);
        return 20;
      },
      found);
  std::string buffer(100, '?');
  Result<std::size_t> got = source(buffer);
  while (got && *got > 0) got = source(buffer);
  REQUIRE_FALSE(got.has_value());
  CHECK(got.error().code == ErrorCode::kReadFailed);
  CHECK(got.error().message == "gone");
}

TEST_CASE("decompress: text that grows beyond the limit is refused") {
  // gzip -9 of a thousand "x" is 29 bytes.
  const std::string packed =
      from_hex("1f8b0800000000000203aba81805a360140c770000e6c9413be8030000");
  const auto grown = [&](UnpackLimit limit) {
    Compression found = Compression::kNone;
    const ByteSource source = decompress(bytes_by(packed, kAll), found, limit);
    std::string buffer(100, '?');
    Result<std::size_t> got = source(buffer);
    std::size_t text = 0;
    while (got && *got > 0) {
      text += *got;
      got = source(buffer);
    }
    return got ? Result<std::size_t>(text) : got;
  };
  CHECK(grown({}) == 1000U);
  CHECK(grown({10, 1000}) == 1000U);
  CHECK(grown({0, 0}) == 1000U);
  const auto refused = grown({10, 500});
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().message ==
        "found more than 10 times as much text as gzip data, expected less of "
        "a capture");
  CHECK(refused.error().hint ==
        "if it is one, say how often: --unpack-limit N, or 0 for any");
}
