// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/read_ahead.h"

#include <doctest/doctest.h>

#include <atomic>
#include <csignal>
#include <cstring>
#include <future>
#include <new>
#include <random>
#include <string>
#include <string_view>

using namespace clockassay;

namespace {

// Longer than all parts ahead, so that every part is used again.
std::string long_text(std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::string text((ReadAhead::kPartsAhead + 3) * ReadAhead::kPartBytes + 11,
                   '\0');
  for (char& c : text) c = static_cast<char>(random());
  return text;
}

// Gives `text` in random parts, then its end or what `at_end` does.
AheadSource source_of(
    std::string_view text, std::uint64_t seed,
    std::function<Result<std::size_t>()> at_end = [] { return 0; }) {
  struct State {
    std::mt19937_64 random;
    std::size_t at = 0;
    int ends = 0;
  };
  auto state = std::make_shared<State>();
  state->random.seed(seed);
  return {[=](std::span<char> buffer) -> Result<std::size_t> {
            if (state->at == text.size()) {
              // What comes after an end or an error must not be asked for.
              CHECK(++state->ends == 1);
              return at_end();
            }
            const std::size_t size =
                std::min({1 + state->random() % (2 * ReadAhead::kPartBytes),
                          buffer.size(), text.size() - state->at});
            std::memcpy(buffer.data(), text.data() + state->at, size);
            state->at += size;
            return size;
          },
          [=] { return static_cast<std::int64_t>(3 * state->at); }, [] {}};
}

struct Taken {
  std::string text;
  std::optional<Error> error;
};

// Everything, in random parts; the end and an error are for good.
Taken take_all(ReadAhead& ahead, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::string buffer(2 * ReadAhead::kPartBytes, '?');
  Taken taken;
  while (true) {
    const std::size_t size = 1 + random() % buffer.size();
    const auto got = ahead.read({buffer.data(), size});
    if (!got) taken.error = got.error();
    if (!got || *got == 0) break;
    REQUIRE(*got <= size);
    taken.text.append(buffer, 0, *got);
    const auto read = static_cast<std::int64_t>(taken.text.size());
    CHECK(ahead.position() >= 3 * read);
  }
  const auto again = ahead.read(buffer);
  CHECK(again.has_value() == !taken.error);
  if (again) CHECK(*again == 0);
  if (!again) CHECK(again.error().message == taken.error->message);
  CHECK(ahead.position() == 3 * static_cast<std::int64_t>(taken.text.size()));
  return taken;
}

Error broken() {
  Error error{ErrorCode::kReadFailed, "the cable is out"};
  error.byte = 4711;
  return error;
}

}  // namespace

TEST_CASE("ReadAhead: the bytes come in order, whoever is faster") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const std::string text = long_text(seed);
    ReadAhead ahead(source_of(text, seed), true);
    const Taken taken = take_all(ahead, seed + 1000);
    CHECK(taken.text == text);
    CHECK_FALSE(taken.error);
  }
}

TEST_CASE("ReadAhead: an empty source ends") {
  ReadAhead ahead(source_of("", 1), true);
  const Taken taken = take_all(ahead, 1);
  CHECK(taken.text.empty());
  CHECK_FALSE(taken.error);
}

TEST_CASE("ReadAhead: an error comes after all the bytes before it, whole") {
  for (const std::size_t size :
       {std::size_t{0}, std::size_t{1000},
        2 * ReadAhead::kPartsAhead * ReadAhead::kPartBytes}) {
    CAPTURE(size);
    const std::string text(size, 'x');
    ReadAhead ahead(source_of(text, 5,
                              []() -> Result<std::size_t> {
                                return tl::unexpected(broken());
                              }),
                    true);
    const Taken taken = take_all(ahead, 6);
    CHECK(taken.text == text);
    REQUIRE(taken.error);
    CHECK(taken.error->code == ErrorCode::kReadFailed);
    CHECK(taken.error->message == "the cable is out");
    CHECK(taken.error->byte == 4711);
  }
}

TEST_CASE("ReadAhead: an exception of the source comes out of read") {
  const std::string text(1000, 'x');
  ReadAhead ahead(
      source_of(text, 7,
                []() -> Result<std::size_t> { throw std::bad_alloc(); }),
      true);
  std::string buffer(2 * text.size(), '?');
  std::size_t read = 0;
  while (read < text.size()) read += ahead.read(buffer).value();
  CHECK(read == text.size());
  CHECK_THROWS_AS((void)ahead.read(buffer), std::bad_alloc);
  CHECK_THROWS_AS((void)ahead.read(buffer), std::bad_alloc);
}

TEST_CASE("ReadAhead: a source without an end waits for who takes its bytes") {
  std::atomic<std::size_t> reads = 0;
  std::promise<void> all_full;
  const auto endless = [&](std::span<char> buffer) -> Result<std::size_t> {
    if (++reads == ReadAhead::kPartsAhead) all_full.set_value();
    return buffer.size();
  };
  std::size_t used = 0;
  {
    ReadAhead ahead({endless, [] { return 0; }, [] {}}, true);
    all_full.get_future().wait();
    std::string buffer(ReadAhead::kPartBytes, '?');
    for (used = 1; used < 30; ++used) {
      CHECK(ahead.read(buffer).value() == ReadAhead::kPartBytes);
      // Of those begun one is being emptied here.
      CHECK(reads <= used - 1 + ReadAhead::kPartsAhead);
    }
  }
  // Its end is the end of the reading, too.
  const std::size_t at_end = reads;
  CHECK(at_end <= used + ReadAhead::kPartsAhead);
}

TEST_CASE("ReadAhead: who has enough need not wait for a source that waits") {
  std::promise<void> interrupted;
  std::atomic<int> reads = 0;
  const auto waiting = [&, end = interrupted.get_future().share()](
                           std::span<char> buffer) -> Result<std::size_t> {
    if (++reads > 1) end.wait();
    buffer[0] = 'a';
    return 1;
  };
  {
    ReadAhead ahead(
        {waiting, [] { return 0; }, [&] { interrupted.set_value(); }}, true);
    char byte = '?';
    CHECK(ahead.read({&byte, 1}).value() == 1);
    CHECK(byte == 'a');
  }
  CHECK(reads <= 2 + static_cast<int>(ReadAhead::kPartsAhead));
}

TEST_CASE("ReadAhead: without a thread it reads when it is asked") {
  const std::string text = long_text(3);
  std::atomic<int> reads = 0;
  AheadSource source = source_of(text, 3);
  source.read = [&reads, read = source.read](std::span<char> buffer) {
    ++reads;
    return read(buffer);
  };
  ReadAhead ahead(std::move(source), false);
  CHECK(reads == 0);
  std::string buffer(100, '?');
  CHECK(ahead.read(buffer).value() <= 100);
  CHECK(reads == 1);
}

TEST_CASE("ReadAhead: signals that end the program are not for its thread") {
  std::atomic<int> held = 0;
  const auto looks = [&held](std::span<char>) -> Result<std::size_t> {
    sigset_t mask;
    pthread_sigmask(SIG_SETMASK, nullptr, &mask);
    for (const int signal : {SIGHUP, SIGINT, SIGTERM, SIGXCPU}) {
      held += sigismember(&mask, signal);
    }
    return 0;
  };
  for (const bool on_thread : {false, true}) {
    held = 0;
    ReadAhead ahead({looks, [] { return 0; }, [] {}}, on_thread);
    char byte = '?';
    CHECK(ahead.read({&byte, 1}).value() == 0);
    CHECK(held == (on_thread ? 4 : 0));
  }
}
