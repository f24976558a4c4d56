#include "server/pages.hpp"

#include <array>
#include <memory>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

namespace evenhand::server {

namespace {

using kainjow::mustache::data;
using kainjow::mustache::lambda;
using kainjow::mustache::mustache;
using kainjow::mustache::partial;

enum class For : std::uint8_t { anyone, signed_in, instructor };

/// One page: src/server/web/page/<name>.html in the frame of page/frame.html, with js/<name>.js.
struct Page {
  std::string_view pattern;
  std::string_view name;
  std::string_view title;
  For whom;
};

constexpr std::array pages{
    Page{"/join", "join", "Join a group", For::anyone},
    Page{"/sign-in", "sign-in", "Sign in", For::anyone},
    Page{"/setup", "setup", "Set up", For::anyone},
    Page{"/reset", "reset", "Choose a new passphrase", For::anyone},
    Page{"/claim", "claim", "Take over your scores", For::anyone},
    Page{"/about", "about", "About and help", For::anyone},
    Page{"/learn/{item}", "learn", "Learn an item", For::signed_in},
    Page{"/sitting/{id}", "sitting", "Sitting", For::signed_in},
    Page{"/sitting/{id}/summary", "summary", "Summary", For::signed_in},
    Page{"/progress", "progress", "Progress", For::signed_in},
    Page{"/account", "account", "Account", For::signed_in},
    Page{"/groups", "groups", "Groups", For::instructor},
    Page{"/groups/{id}", "group", "Group", For::instructor},
    Page{"/groups/{id}/raters/{rater}", "rater", "Rater", For::instructor},
    Page{"/groups/{id}/cases/{case}/{item}", "case-item", "Case and item", For::instructor},
    Page{"/audit", "audit", "Log and retention", For::instructor},
    Page{"/department", "department", "Rounds", For::instructor},
    Page{"/department/rulings", "rulings", "Rulings", For::instructor},
    Page{"/pair", "pair", "A live child, two raters", For::signed_in},
    Page{"/external", "external", "Films and live children", For::instructor},
    Page{"/external/{case}/score", "external-score", "Score for the panel", For::instructor},
    Page{"/department/planning", "planning", "Planning", For::instructor},
    Page{"/department/paper", "paper", "Paper", For::instructor},
    Page{"/sets", "sets", "Sets", For::instructor},
    Page{"/department/standards", "standards", "Standard", For::instructor},
    Page{"/workshop", "workshop", "Case workshop", For::instructor},
    Page{"/workshop/cases/{case}", "draft", "Draft of a case", For::instructor},
    Page{"/workshop/read/{case}", "second-reading", "Second reading", For::instructor},
    Page{"/department/rounds/{id}", "round", "Result of a round", For::instructor},
};
constexpr Page welcome{"/", "welcome", "Rater practice", For::anyone};
constexpr Page home{"/", "home", "Practice", For::signed_in};

std::string text_of(const WebFiles& files, std::string_view folder, std::string_view name,
                    std::string_view ending) {
  return files.text(fmt::format("{}/{}.{}", folder, name, ending));
}

Response html(std::string body, unsigned status) {
  Response response{.status = status, .type = "text/html; charset=utf-8", .body = std::move(body)};
  // Pages name the person; what a browser keeps of them for working offline is the service worker's to drop.
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

Response render(const WebFiles& files, const Page& page, const std::optional<Who>& who, unsigned status = 200,
                data more = {data::type::object}) {
  more.set("title", std::string(page.title));
  more.set("page", std::string(page.name));
  more.set("script", files.url(fmt::format("js/{}.js", page.name)));
  more.set("main", partial{[&] { return text_of(files, "page", page.name, "html"); }});
  more.set("asset", lambda{[&](const std::string& name) { return files.url(name); }});
  more.set("signed_in", who.has_value());
  more.set("signed_out", !who.has_value());
  more.set("teaches", who && who->role != Role::student);
  more.set("rater", who ? who->rater.text() : std::string{});
  more.set("role", who ? std::string(store::word(who->role)) : std::string{});
  mustache frame{text_of(files, "page", "frame", "html")};
  return html(frame.render(more), status);
}

/// Where to come back to after signing in. Only the path: what a page shows follows from it.
Response to_sign_in(const Request& request) {
  Response response{.status = 303, .type = "text/html; charset=utf-8"};
  std::string target;
  for (const char c : request.path) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       c == '-' || c == '_' || c == '.' || c == '/';
    target += plain ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
  }
  response.headers.emplace_back("Location", "/sign-in?next=" + target);
  response.headers.emplace_back("Cache-Control", "no-store");
  return response;
}

Response show(const WebFiles& files, const Page& page, const Request& request, const Visit& visit) {
  if (page.whom != For::anyone && !visit.who) return to_sign_in(request);
  // A page for others does not exist for a student, as everywhere.
  if (page.whom == For::instructor && visit.who->role == Role::student)
    return error_page(files, 404, visit.who);
  return render(files, page, visit.who);
}

struct Trouble {
  unsigned status;
  std::string_view title, says;
};
constexpr std::array troubles{
    Trouble{400, "That request made no sense", "The address or what came with it could not be read."},
    Trouble{403, "Not allowed", "This was not asked for from a page of this site, or it is not yours."},
    Trouble{404, "Nothing here", "There is no such page, or it belongs to somebody else."},
    Trouble{429, "Too many requests", "Wait a minute, then try again. Nothing that you entered is lost."},
    Trouble{503, "Busy",
            "The site is busy or is being restarted. What you entered is kept on this device and "
            "sent when it answers again."},
};
constexpr Trouble other{500, "Something went wrong",
                        "The fault is ours. What you entered is kept on this device and sent again."};

}  // namespace

std::vector<Route> page_routes(const WebFiles& given) {
  const auto files = std::make_shared<const WebFiles>(given);
  std::vector<Route> routes;
  for (const Page& page : pages)
    routes.push_back(
        {"GET", std::string(page.pattern), Access::anyone,
         [files, page](const Request& request, Visit& visit) { return show(*files, page, request, visit); }});
  routes.push_back({"GET", "/", Access::anyone, [files](const Request& request, Visit& visit) {
                      return show(*files, visit.who ? home : welcome, request, visit);
                    }});
  // At the root, since a service worker has power only below its own address.
  routes.push_back({"GET", "/sw.js", Access::anyone, [files](const Request&, Visit&) {
                      Response response{.type = "text/javascript; charset=utf-8",
                                        .body = files->text("js/sw.js")};
                      response.headers.emplace_back("Cache-Control", "no-cache");
                      return response;
                    }});
  return routes;
}

Response error_page(const WebFiles& files, unsigned status, const std::optional<Who>& who) {
  Trouble trouble = other;
  for (const Trouble& known : troubles)
    if (known.status == status) trouble = known;
  data more{data::type::object};
  more.set("trouble", std::string(trouble.title));
  more.set("says", std::string(trouble.says));
  return render(files, Page{"", "error", trouble.title, For::anyone}, who, status, more);
}

}  // namespace evenhand::server
