#include <atomic>
#include <cerrno>
#include <csignal>
#include <thread>

#include <sys/syscall.h>
#include <unistd.h>

#include "processes.hpp"
#include "store/accounts.hpp"
#include "store/sessions.hpp"
#include "support.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;

namespace {

// SQLite reaches the disk through these two; the tests of this program count them, or let them fail.
std::atomic<int> syncs{0};
std::atomic<bool> disk_fails{false};

int sync_through(long call, int file) {
  ++syncs;
  if (disk_fails) {
    errno = EIO;
    return -1;
  }
  return static_cast<int>(::syscall(call, file));
}

}  // namespace

extern "C" int fsync(int file) { return sync_through(SYS_fsync, file); }
extern "C" int fdatasync(int file) { return sync_through(SYS_fdatasync, file); }

namespace {

template <class F>
int syncs_in(F f) {
  const int before = syncs;
  f();
  return syncs - before;
}

struct Begun {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  SittingId sitting{"s-1"};

  Begun() {
    if (!store.begin_sitting(sitting_of("ada", "s-1"))) throw std::runtime_error("no sitting");
  }
  Result<void> answer(const std::string& item, std::uint32_t revision = 1) {
    return store.append_answer(sitting, answer_of(item, "4", revision));
  }
  std::vector<std::string> items() {
    std::vector<std::string> items;
    const auto given = store.revisions(sitting).value();
    for (const auto& answer : given) items.push_back(answer.item.text());
    return items;
  }
};

using Items = std::vector<std::string>;

}  // namespace

TEST_CASE("a batch reaches the disk once, however many verbs it holds") {
  Begun begun;
  const int alone = syncs_in([&] { REQUIRE(begun.answer("1")); });
  CHECK(alone == 1);
  const int batch = syncs_in([&] {
    begun.store.together([&] {
      for (int n = 2; n <= 50; ++n) REQUIRE(begun.answer(std::to_string(n)));
    });
  });
  CHECK(batch == 1);
  CHECK(begun.items().size() == 50);
}

TEST_CASE("a batch that wrote nothing does not touch the disk") {
  Begun begun;
  REQUIRE(begun.answer("1"));
  const int batch = syncs_in([&] {
    begun.store.together([&] {
      CHECK(begun.store.answers(begun.sitting)->size() == 1);
      CHECK(begun.answer("1"));           // said again
      CHECK_FALSE(begun.answer("1", 3));  // a gap
    });
  });
  CHECK(batch == 0);
  CHECK(begun.items() == Items{"1"});
}

TEST_CASE("a verb that fails in a batch leaves nothing, and the others stand") {
  Begun begun;
  begun.store.together([&] {
    CHECK(begun.answer("1"));
    CHECK(begun.answer("2", 2).error().code == Errc::conflict);
    // It makes the rater known before it finds the conflict.
    CHECK_FALSE(begun.store.import_scores(table_from("rater,case,item,score\nzoe,c,1,4\nada,c,1,4\n"),
                                          {.name = "", .file_fingerprint = "f"}, minute(1)));
    const auto clash = table_from("sitting,rater,case,item,score\ns-1,zoe,pb-otter,9,4\n");
    CHECK(begun.store.import_scores(clash, {.name = "a.csv", .file_fingerprint = "f"}, minute(1))
              .error()
              .code == Errc::conflict);
    CHECK(begun.answer("3"));
    CHECK(begun.items() == Items{"1", "3"});
  });
  auto other = open_store(begun.path);
  CHECK(other.revisions(begun.sitting)->size() == 2);
  CHECK(other.counts(RaterId("zoe")).error().code == Errc::not_found);
  CHECK(other.counts()->imports == 0);
  CHECK(other.check().empty());
}

TEST_CASE("others see nothing of a batch before it is committed, and all after") {
  Begun begun;
  auto other = open_store(begun.path);
  begun.store.together([&] {
    REQUIRE(begun.answer("1"));
    REQUIRE(begun.answer("2"));
    CHECK(other.revisions(begun.sitting)->empty());
  });
  CHECK(other.revisions(begun.sitting)->size() == 2);
}

TEST_CASE("an exception out of a batch undoes all of it") {
  Begun begun;
  const auto batch = [&] {
    begun.store.together([&] {
      REQUIRE(begun.answer("1"));
      throw std::runtime_error("stop");
    });
  };
  CHECK_THROWS_WITH(batch(), "stop");
  CHECK(begun.items().empty());
  // The store is as good as before.
  CHECK(begun.answer("1"));
  CHECK(open_store(begun.path).revisions(begun.sitting)->size() == 1);
}

TEST_CASE("an exception out of a part undoes that part, when the batch catches it") {
  Begun begun;
  begun.store.together([&] {
    REQUIRE(begun.answer("1"));
    const auto part = [&] {
      begun.store.all_or_nothing([&]() -> bool {
        REQUIRE(begun.answer("2"));
        throw std::runtime_error("stop");
      });
    };
    CHECK_THROWS_WITH(part(), "stop");
    REQUIRE(begun.answer("3"));
  });
  CHECK(begun.items() == Items{"1", "3"});
}

TEST_CASE("verbs that stand or fall as one do so in a batch and on their own") {
  Begun begun;
  const auto two = [&](const std::string& a, const std::string& b, std::uint32_t revision) {
    return begun.store.all_or_nothing([&] { return begun.answer(a) && begun.answer(b, revision); });
  };
  CHECK(two("1", "2", 1));
  CHECK_FALSE(two("3", "4", 2));
  begun.store.together([&] {
    CHECK(two("5", "6", 1));
    CHECK_FALSE(two("7", "8", 2));
    CHECK(begun.store.all_or_nothing([&] { return two("9", "10", 1) && !two("11", "12", 2); }));
    CHECK_FALSE(begun.store.all_or_nothing([&] { return two("13", "14", 1) && two("15", "16", 2); }));
  });
  CHECK(begun.items() == Items{"1", "2", "5", "6", "9", "10"});
  CHECK(open_store(begun.path).check().empty());
}

TEST_CASE("a batch in a batch and a backup in one are mistakes of the program", "[edge]") {
  Begun begun;
  begun.store.together([&] {
    REQUIRE(begun.answer("1"));
    CHECK_THROWS_AS(begun.store.together([] {}), std::logic_error);
    CHECK_THROWS_AS(begun.store.backup(begun.folder / "copy.db"), std::logic_error);
    CHECK(begun.store.check().empty());
    REQUIRE(begun.answer("2"));
  });
  begun.store.all_or_nothing([&] {
    CHECK_THROWS_AS(begun.store.together([] {}), std::logic_error);
    return true;
  });
  CHECK(begun.items() == Items{"1", "2"});
}

TEST_CASE("a batch whose commit fails is not kept and says so") {
  Begun begun;
  REQUIRE(begun.answer("1"));
  const auto batch = [&] {
    begun.store.together([&] {
      REQUIRE(begun.answer("2"));
      REQUIRE(begun.answer("3"));
      disk_fails = true;
    });
  };
  CHECK_THROWS_AS(batch(), store::Unavailable);
  disk_fails = false;
  CHECK(begun.items() == Items{"1"});
  REQUIRE(begun.answer("4"));
  CHECK(begun.items() == Items{"1", "4"});
  CHECK(open_store(begun.path).check().empty());
}

TEST_CASE("when the disk fails inside a batch, nothing of it is kept, even if that was caught") {
  Begun begun;
  const pid_t child = in_child([&] {
    ::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{900'000, 900'000};
    auto store = open_store(begun.path);
    if (::setrlimit(RLIMIT_FSIZE, &limit) != 0) return 9;
    std::string csv = "rater,case,item,score\n";
    for (int n = 0; n < 60000; ++n) csv += fmt::format("r{},c,{},3\n", n / 14, n % 14);
    const auto table = table_from(csv);
    bool told = false;
    bool later_refused = false;
    try {
      store.together([&] {
        if (!store.append_answer(begun.sitting, answer_of("1", "4"))) ::_exit(8);
        try {
          // More than the page cache holds, so it spills to the log before the commit.
          (void)store.import_scores(table, {.name = "a.csv", .file_fingerprint = "f"}, minute(1));
        } catch (const store::Unavailable&) {
          told = true;
        }
        try {
          (void)store.append_answer(begun.sitting, answer_of("2", "4"));
        } catch (const store::Unavailable&) {
          later_refused = true;
        }
      });
    } catch (const store::Unavailable&) {
      return told && later_refused ? 0 : 2;
    }
    return 1;
  });
  CHECK(exit_of(child) == 0);
  CHECK(open_store(begun.path).revisions(begun.sitting)->empty());
  CHECK(open_store(begun.path).check().empty());
}
