#include "store/tickets.hpp"

#include "processes.hpp"
#include "site.hpp"

using namespace evenhand;
using namespace evenhand::test;
using Catch::Matchers::Contains;
using store::Purpose;
using store::Ticket;

namespace {

Ticket ticket_of(Purpose purpose, const std::string& hash, std::optional<RaterId> rater = std::nullopt) {
  return {
      .hash = hash, .purpose = purpose, .rater = std::move(rater), .made = minute(1), .until = minute(60)};
}

struct Issued {
  Folder folder;
  std::string path = folder / "a.db";
  store::Store store = open_store(path);
  RaterId ada{"ada"};

  Issued() {
    if (!add_account(store, account_of("ada"))) throw std::runtime_error("no account");
  }
};

}  // namespace

TEST_CASE("a one-time code is good once") {
  Issued issued;
  for (const auto& ticket : {ticket_of(Purpose::setup, "s"), ticket_of(Purpose::staff, "i"),
                             ticket_of(Purpose::reset, "r", issued.ada)}) {
    REQUIRE(add_ticket(issued.store, ticket));
    CHECK(use_ticket(issued.store, ticket.hash, ticket.purpose, minute(59)).value() == ticket);
    const auto again = use_ticket(issued.store, ticket.hash, ticket.purpose, minute(59));
    REQUIRE_FALSE(again);
    CHECK(again.error().code == Errc::conflict);
    CHECK_THAT(again.error().message, Contains("used 2026-09-01T08:59:00Z"));
  }
}

TEST_CASE("a code that ran out, is for something else or was never issued opens nothing", "[edge]") {
  Issued issued;
  REQUIRE(add_ticket(issued.store, ticket_of(Purpose::staff, "i")));
  const auto late = use_ticket(issued.store, "i", Purpose::staff, minute(60));
  REQUIRE_FALSE(late);
  CHECK(late.error().code == Errc::conflict);
  CHECK_THAT(late.error().message, Contains("ran out 2026-09-01T09:00:00Z"));
  CHECK(use_ticket(issued.store, "i", Purpose::setup, minute(2)).error().code == Errc::not_found);
  CHECK(use_ticket(issued.store, "x", Purpose::staff, minute(2)).error().code == Errc::not_found);
  CHECK(use_ticket(issued.store, "i", Purpose::staff, minute(2)));
}

TEST_CASE("a further code takes the place of the earlier one, except for staff") {
  Issued issued;
  REQUIRE(add_account(issued.store, account_of("ben")));
  for (const std::string n : {"1", "2"}) {
    REQUIRE(add_ticket(issued.store, ticket_of(Purpose::setup, "s" + n)));
    REQUIRE(add_ticket(issued.store, ticket_of(Purpose::staff, "i" + n)));
    REQUIRE(add_ticket(issued.store, ticket_of(Purpose::reset, "ada" + n, issued.ada)));
    REQUIRE(add_ticket(issued.store, ticket_of(Purpose::reset, "ben" + n, RaterId("ben"))));
  }
  const auto good = [&](const std::string& hash, Purpose purpose) {
    return use_ticket(issued.store, hash, purpose, minute(2)).has_value();
  };
  CHECK_FALSE(good("s1", Purpose::setup));
  CHECK(good("s2", Purpose::setup));
  CHECK(good("i1", Purpose::staff));
  CHECK(good("i2", Purpose::staff));
  CHECK_FALSE(good("ada1", Purpose::reset));
  CHECK(good("ada2", Purpose::reset));
  CHECK(good("ben2", Purpose::reset));
}

TEST_CASE("a one-time code names a rater when it is for a new passphrase, and only then", "[edge]") {
  Issued issued;
  CHECK(add_ticket(issued.store, ticket_of(Purpose::reset, "r")).error().code == Errc::invalid);
  CHECK(add_ticket(issued.store, ticket_of(Purpose::staff, "i", issued.ada)).error().code == Errc::invalid);
  CHECK(add_ticket(issued.store, ticket_of(Purpose::staff, "")).error().code == Errc::invalid);
  auto backward = ticket_of(Purpose::staff, "i");
  backward.until = minute(0);
  CHECK(add_ticket(issued.store, backward).error().code == Errc::invalid);
  CHECK(add_ticket(issued.store, ticket_of(Purpose::reset, "r", RaterId("zoe"))).error().code ==
        Errc::not_found);
  REQUIRE(add_ticket(issued.store, ticket_of(Purpose::staff, "i")));
  CHECK(add_ticket(issued.store, ticket_of(Purpose::setup, "i")).error().code == Errc::conflict);
}

TEST_CASE("old codes are forgotten") {
  Issued issued;
  REQUIRE(add_ticket(issued.store, ticket_of(Purpose::staff, "used")));
  REQUIRE(add_ticket(issued.store, ticket_of(Purpose::staff, "ran out")));
  auto good = ticket_of(Purpose::staff, "good");
  good.until = minute(500);
  REQUIRE(add_ticket(issued.store, good));
  REQUIRE(use_ticket(issued.store, "used", Purpose::staff, minute(5)));
  CHECK(purge_tickets(issued.store, minute(100)) == 2);
  CHECK(use_ticket(issued.store, "used", Purpose::staff, minute(6)).error().code == Errc::not_found);
  CHECK(use_ticket(issued.store, "good", Purpose::staff, minute(101)));
}

TEST_CASE("of programs that use one code at the same time one has it") {
  Issued issued;
  for (int round = 0; round < 5; ++round) {
    const std::string hash = std::to_string(round);
    REQUIRE(add_ticket(issued.store, ticket_of(Purpose::setup, hash)));
    std::vector<pid_t> children;
    for (int n = 0; n < 4; ++n)
      children.push_back(in_child([&] {
        auto store = open_store(issued.path);
        const auto used = use_ticket(store, hash, Purpose::setup, minute(5));
        return used ? 1 : used.error().code == Errc::conflict ? 0 : 9;
      }));
    int had = 0;
    for (const pid_t child : children) had += exit_of(child);
    CHECK(had == 1);
  }
}
