#include <algorithm>
#include <csignal>
#include <thread>
#include <vector>

#include <sys/resource.h>
#include <unistd.h>

#include "processes.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;

TEST_CASE("a killed process loses no answer that was acknowledged") {
  for (int round = 0; round < 5; ++round) {
    const Folder folder;
    const std::string path = folder / "a.db";
    {
      REQUIRE(open_store(path).begin_sitting(sitting_of("ada", "s-1")));
    }
    int pipe[2];
    REQUIRE(::pipe(pipe) == 0);
    const pid_t child = in_child([&] {
      auto store = open_store(path);
      for (unsigned n = 1; store.append_answer(SittingId("s-1"), answer_of(std::to_string(n), "4")); ++n)
        if (::write(pipe[1], &n, sizeof n) != sizeof n) return 1;
      return 2;
    });
    ::close(pipe[1]);
    // Killed at different places of its work: while the next answer is on its way to the disk.
    unsigned acknowledged = 0;
    while (acknowledged < 20 && ::read(pipe[0], &acknowledged, sizeof acknowledged) == sizeof acknowledged) {
    }
    std::this_thread::sleep_for(std::chrono::microseconds(130 * round));
    ::kill(child, SIGKILL);
    CHECK(exit_of(child) == -1);
    while (::read(pipe[0], &acknowledged, sizeof acknowledged) == sizeof acknowledged) {
    }
    ::close(pipe[0]);

    auto store = open_store(path, store::OpenMode::existing);
    const auto answers = store.answers(SittingId("s-1")).value();
    CHECK(acknowledged >= 20);
    CHECK(answers.size() >= acknowledged);
    CHECK(answers.size() <= acknowledged + 1);  // the one that was stored but not yet told
    for (std::size_t i = 0; i < answers.size(); ++i)
      CHECK(answers[i] == answer_of(std::to_string(i + 1), "4"));
    CHECK(store.check().empty());
    // The sitting goes on where it stopped.
    REQUIRE(store.open_sitting_of(RaterId("ada"), SetId("first-steps")));
    CHECK(store.append_answer(SittingId("s-1"), answer_of(std::to_string(answers.size() + 1), "3")));
  }
}

TEST_CASE("an import that is killed half-way leaves nothing") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    auto store = open_store(path);
  }
  std::string csv = "rater,case,item,score\n";
  for (int n = 0; n < 60000; ++n) csv += fmt::format("r{},c,{},3\n", n / 14, n % 14);
  const auto table = table_from(csv);
  const pid_t child = in_child([&] {
    auto store = open_store(path);
    return store.import_scores(table, {.name = "a.csv", .file_fingerprint = "f"}, minute(1)) ? 0 : 1;
  });
  // It holds the write lock from its first row to its last.
  SQLite::Database watch(path, SQLite::OPEN_READWRITE);
  while (watch.tryExec("BEGIN IMMEDIATE") == 0) {
    watch.exec("ROLLBACK");
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  ::kill(child, SIGKILL);
  REQUIRE(exit_of(child) == -1);
  auto store = open_store(path);
  CHECK(store.counts().value() == store::Counts{});
  CHECK(store.check().empty());
}

TEST_CASE("programs that write to one store at the same time lose nothing") {
  const Folder folder;
  const std::string path = folder / "a.db";
  constexpr int writers = 4;
  constexpr unsigned each = 100;
  // They also make the store, all at once.
  std::vector<pid_t> children;
  for (int w = 0; w < writers; ++w)
    children.push_back(in_child([&] {
      const std::string name = fmt::format("rater-{}", w);
      auto store = open_store(path);
      if (!store.begin_sitting(sitting_of(name, "s-" + name))) return 1;
      for (unsigned n = 1; n <= each; ++n)
        if (!store.append_answer(SittingId("s-" + name), answer_of(std::to_string(n), "4"))) return 2;
      const auto table = table_from(fmt::format("rater,case,item,score\n{},c,1,4\nshared,c,1,2\n", name));
      return store.import_scores(table, {.name = name, .file_fingerprint = name}, minute(1)) ? 0 : 3;
    }));
  for (const pid_t child : children) CHECK(exit_of(child) == 0);

  auto store = open_store(path);
  CHECK(store.counts().value() == store::Counts{.people = writers + 1,
                                                .sittings = writers,
                                                .unfinished = writers,
                                                .answers = writers * each,
                                                .scores = writers + 1,
                                                .imports = writers});
  CHECK(store.check().empty());
}

TEST_CASE("programs that write batches to one store at the same time lose nothing that was acknowledged") {
  const Folder folder;
  const std::string path = folder / "a.db";
  constexpr int writers = 3;
  constexpr unsigned per_batch = 10;
  constexpr unsigned wanted = 200;  // of each, before one of them is killed
  {
    open_store(path);
  }
  int pipe[2];
  REQUIRE(::pipe(pipe) == 0);
  struct Heard {
    int writer;
    unsigned answers;
  };
  std::vector<pid_t> children;
  for (int w = 0; w < writers; ++w)
    children.push_back(in_child([&] {
      const std::string name = fmt::format("rater-{}", w);
      const SittingId sitting("s-" + name);
      auto store = open_store(path);
      if (!store.begin_sitting(sitting_of(name, sitting.text()))) return 1;
      for (unsigned n = 0;;) {
        bool all = true;
        store.together([&] {
          for (unsigned i = 0; i < per_batch; ++i)
            all = all && store.append_answer(sitting, answer_of(std::to_string(++n), "4"));
        });
        if (!all) return 2;
        const Heard heard{w, n};
        if (::write(pipe[1], &heard, sizeof heard) != sizeof heard) return 3;
      }
    }));
  ::close(pipe[1]);
  std::vector<unsigned> acknowledged(writers);
  const auto listen = [&] {
    Heard heard{};
    if (::read(pipe[0], &heard, sizeof heard) != sizeof heard) return false;
    acknowledged[static_cast<std::size_t>(heard.writer)] = heard.answers;
    return true;
  };
  const auto least = [&] { return *std::min_element(acknowledged.begin(), acknowledged.end()); };
  while (least() < wanted) REQUIRE(listen());
  // One is killed in mid-batch; the others go on as if it had never been.
  ::kill(children[0], SIGKILL);
  CHECK(exit_of(children[0]) == -1);
  for (const unsigned goal = least() + wanted; acknowledged[1] < goal || acknowledged[2] < goal;)
    REQUIRE(listen());
  for (const pid_t child : {children[1], children[2]}) {
    ::kill(child, SIGKILL);
    CHECK(exit_of(child) == -1);
  }
  while (listen()) {
  }
  ::close(pipe[0]);

  auto store = open_store(path, store::OpenMode::existing);
  CHECK(store.check().empty());
  for (int w = 0; w < writers; ++w) {
    const auto answers = store.answers(SittingId(fmt::format("s-rater-{}", w))).value();
    const auto heard = acknowledged[static_cast<std::size_t>(w)];
    CHECK(answers.size() >= heard);
    CHECK(answers.size() <= heard + per_batch);  // the batch that was stored but not yet told
    CHECK(answers.size() % per_batch == 0);      // a batch is there whole or not at all
    for (std::size_t i = 0; i < answers.size(); ++i)
      CHECK(answers[i] == answer_of(std::to_string(i + 1), "4"));
  }
}

TEST_CASE("two programs that revise one answer: one is told of the other") {
  const Folder folder;
  const std::string path = folder / "a.db";
  auto one = open_store(path);
  auto two = open_store(path);
  REQUIRE(one.begin_sitting(sitting_of("ada", "s-1")));
  REQUIRE(one.append_answer(SittingId("s-1"), answer_of("8", "4")));
  REQUIRE(one.append_answer(SittingId("s-1"), answer_of("8", "3", 2)));
  CHECK(two.append_answer(SittingId("s-1"), answer_of("8", "2", 2)).error().code == Errc::conflict);
  CHECK(two.append_answer(SittingId("s-1"), answer_of("8", "2", 3)));
}

TEST_CASE("a disk that takes no more is a failure of the surroundings, and the store stays whole") {
  const Folder folder;
  const std::string path = folder / "a.db";
  {
    REQUIRE(open_store(path).begin_sitting(sitting_of("ada", "s-1")));
  }
  std::string csv = "rater,case,item,score\n";
  for (int n = 0; n < 60000; ++n) csv += fmt::format("r{},c,{},3\n", n / 14, n % 14);
  const auto table = table_from(csv);
  const pid_t child = in_child([&] {
    ::signal(SIGXFSZ, SIG_IGN);
    // No file of this process may grow past 600 kB: the import needs some megabytes.
    const rlimit limit{600'000, 600'000};
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 9;
    auto store = open_store(path);
    try {
      return store.import_scores(table, {.name = "a.csv", .file_fingerprint = "f"}, minute(1)) ? 0 : 1;
    } catch (const store::Unavailable& error) {
      // The connection is as good as before.
      const bool told = std::string(error.what()).find("disk") != std::string::npos;
      return told && store.append_answer(SittingId("s-1"), answer_of("8", "4")) ? 2 : 3;
    }
  });
  CHECK(exit_of(child) == 2);
  auto store = open_store(path);
  CHECK(store.counts().value() ==
        store::Counts{.people = 1, .sittings = 1, .unfinished = 1, .answers = 1, .scores = 0, .imports = 0});
  CHECK(store.check().empty());
}
