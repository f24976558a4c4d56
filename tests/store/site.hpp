#pragma once

#include <string>

#include "store/accounts.hpp"
#include "store/groups.hpp"
#include "store/sessions.hpp"
#include "support.hpp"

namespace evenhand::test {

inline store::Account account_of(const std::string& rater, store::Role role = store::Role::student) {
  return {RaterId(rater), role, "$hash of " + rater, minute(1)};
}

inline store::Session session_of(const std::string& rater, const std::string& id, int begun = 2) {
  return {store::SessionId(id), "token of " + id, RaterId(rater), minute(begun), minute(begun)};
}

inline store::Group group_of(const std::string& owner, const std::string& id) {
  store::Group group{GroupId(id), "Group " + id, RaterId(owner), minute(1)};
  group.code = "CODE" + id;
  group.code_until = minute(60);
  return group;
}

}  // namespace evenhand::test
