#include <sys/resource.h>

#include <iostream>
#include <memory>
#include <mutex>
#include <ostream>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "cli/clock.hpp"
#include "cli/commands.hpp"
#include "cli/library_input.hpp"
#include "cli/store_input.hpp"
#include "server/net.hpp"
#include "server/setup.hpp"
#include "server/site.hpp"

namespace evenhand::cli {
namespace {

constexpr const char* example =
    "Without more it serves this machine only. For others: a certificate, or a proxy in front that has one.\n"
    "Stop it with Ctrl-C: what is under way is finished first.\n"
    "Example:\n"
    "  evenhand serve --store class.db --port 8080";

struct Options {
  std::string store;
  LibraryOptions library;
  std::string bind = "127.0.0.1";
  std::uint16_t port = 8080;
  std::string certificate, key;
  bool behind_proxy = false;
  std::vector<std::string> proxies;
  bool insecure_lan = false;
  std::string origin;
  std::string assets;
  bool log_peers = false;
  bool invite = false;
  std::string reset;
};

bool is_loopback(const std::string& address) { return address.starts_with("127.") || address == "::1"; }

/// Errors: invalid  passphrases would travel in the open, or the origin is none
Result<server::Reach> reach_of(const Options& options) {
  const bool tls = !options.certificate.empty();
  if (!is_loopback(options.bind) && !tls && !options.behind_proxy && !options.insecure_lan)
    return fail(
        Errc::invalid,
        "--bind {} would send passphrases in the open: add --certificate and --key, or --behind-proxy where "
        "a proxy has the certificate, or --insecure-lan if that is understood",
        options.bind);
  server::Reach reach;
  reach.tls = tls || options.behind_proxy;
  if (!options.origin.empty()) {
    auto origin = server::read_origin(options.origin);
    if (!origin) return fail(Errc::invalid, "--origin {}", origin.error().message);
    reach.origin = std::move(*origin);
  }
  reach.this_machine_only = is_loopback(options.bind) && !tls && !options.behind_proxy;
  if (options.behind_proxy) reach.proxies = options.proxies;
  if (options.behind_proxy && reach.proxies.empty()) reach.proxies = {"127.0.0.1", "::1"};
  return reach;
}

std::string address_of(const Options& options, const server::Reach& reach, std::uint16_t port) {
  if (!reach.origin.empty()) return reach.origin;
  const bool v6 = options.bind.find(':') != std::string::npos;
  const bool any = options.bind == "0.0.0.0" || options.bind == "::";
  const std::string host = any ? "THIS-MACHINE" : v6 ? '[' + options.bind + ']' : options.bind;
  return fmt::format("{}://{}:{}", options.certificate.empty() ? "http" : "https", host, port);
}

/// Every connection is an open file; most systems allow more than they give unasked.
void allow_many_connections() {
  rlimit files{};
  if (getrlimit(RLIMIT_NOFILE, &files) != 0) return;
  files.rlim_cur = files.rlim_max;
  setrlimit(RLIMIT_NOFILE, &files);
}

Result<server::Assets> assets_of(const Options& options) {
  return options.assets.empty() ? server::Assets::of(server::asset_files())
                                : server::Assets::in_folder(options.assets);
}

/// What is printed once.
struct Links {
  std::optional<std::string> setup{}, invitation{}, code{};
};

Result<Links> new_links(store::Store& store, const Options& options) {
  auto setup = server::setup_token(store, now());
  if (!setup) return tl::unexpected(setup.error());
  Links links{.setup = std::move(*setup)};
  if (options.invite) {
    auto invitation = server::invitation_token(store, now());
    if (!invitation) return tl::unexpected(invitation.error());
    links.invitation = std::move(*invitation);
  }
  if (!options.reset.empty()) {
    auto code = server::passphrase_code(store, RaterId(options.reset), now());
    if (!code) return fail(code.error().code, "--reset {}: {}", options.reset, code.error().message);
    links.code = std::move(*code);
  }
  return links;
}

void say_where(const Options& options, const server::Reach& reach, std::uint16_t port, const Links& links,
               Console& console) {
  const auto address = address_of(options, reach, port);
  console.out << "Serving " << address << '/';
  if (!reach.origin.empty()) console.out << " at " << options.bind << " port " << port;
  console.out << '\n';
  if (links.setup)
    console.out
        << "Nobody looks after this site yet. Open this once, within a day, to become the first instructor:\n"
        << address << "/setup#" << *links.setup << '\n';
  if (links.invitation)
    console.out << "For one more instructor, once, within a day:\n"
                << address << "/setup#" << *links.invitation << '\n';
  if (links.code)
    console.out << options.reset << " can choose a new passphrase with this code, once, within a day, at "
                << address << "/reset\n"
                << *links.code << '\n';
  if (options.insecure_lan && !reach.tls)
    console.err << "Without TLS, passphrases can be read by anybody on this network.\n";
  console.out.flush();
}

Exit serve(const Options& options, Console& console) {
  const auto library = load_library(options.library, console);
  if (!library) return Exit::input_at_fault;
  auto department = department_files(options.library.folder);
  if (!department) return report_error(console, department.error());
  const auto reach = reach_of(options);
  if (!reach) {
    report_error(console, reach.error());
    return Exit::wrong_usage;
  }
  const auto assets = assets_of(options);
  if (!assets) return report_error(console, assets.error());
  auto store = open_store(options.store, store::OpenMode::create);
  if (!store) return report_error(console, store.error());

  allow_many_connections();
  server::Listening listening{
      .address = options.bind, .port = options.port, .one_peer = options.behind_proxy};
  if (!options.certificate.empty()) listening.tls = server::Tls{options.certificate, options.key};
  auto net = server::Net::listen(listening);
  if (!net) return report_error(console, net.error());

  const auto links = new_links(*store, options);
  if (!links) return report_error(console, links.error());
  std::mutex mutex;
  server::SiteSettings settings{
      .reach = *reach, .log_peers = options.log_peers, .clock = now, .log = [&](const std::string& line) {
        const std::lock_guard lock(mutex);
        // In one piece: the standard error stream writes each piece at once.
        console.err << line + '\n';
      }};
  settings.department = *std::move(department);
  server::Site site(std::move(settings), std::move(*store), *library, *assets);
  net->obey_signals();
  say_where(options, *reach, net->port(), *links, console);
  net->run(server::service_of(site));
  console.err << "Stopped.\n";
  return Exit::done;
}

}  // namespace

Command add_serve(CLI::App& program) {
  auto options = std::make_shared<Options>();
  CLI::App* command = program.add_subcommand("serve", "The practice site, for browsers");
  command->footer(example);
  command->add_option("--port", options->port, "Port; 0 takes a free one")->capture_default_str();
  command->add_option("--bind", options->bind, "Address to listen at: 0.0.0.0 is every one of this machine")
      ->type_name("ADDRESS")
      ->transform([](const std::string& name) { return name == "localhost" ? "127.0.0.1" : name; })
      ->capture_default_str();
  auto* certificate = command->add_option("--certificate", options->certificate,
                                          "TLS certificate with its chain (PEM); read again on SIGHUP");
  auto* key = command->add_option("--key", options->key, "The certificate's key (PEM)");
  certificate->type_name("FILE")->needs(key);
  key->type_name("FILE")->needs(certificate);
  auto* behind = command->add_flag("--behind-proxy", options->behind_proxy,
                                   "A proxy in front has TLS and sets X-Forwarded-For");
  command
      ->add_option("--proxy", options->proxies,
                   "The proxy's address (default: this machine); nobody else is answered")
      ->type_name("ADDRESS")
      ->needs(behind);
  command->add_flag("--insecure-lan", options->insecure_lan, "Serve others without TLS all the same");
  command
      ->add_option("--origin", options->origin, "The only address by which browsers reach it: https://NAME")
      ->type_name("URL");
  command->add_option("--assets", options->assets, "Read pages from a folder at each request, to edit them")
      ->type_name("DIR");
  command->add_flag("--invite", options->invite, "Print a link that makes one more instructor");
  command
      ->add_option("--reset", options->reset,
                   "Print a code with which this person, an instructor too, chooses a new passphrase")
      ->type_name("RATER");
  command->add_flag("--log-peers", options->log_peers, "Write browsers' addresses into the log");
  add_store_option(*command, options->store);
  add_library_option(*command, options->library);
  return {command, [options](Console& console) { return serve(*options, console); }};
}

}  // namespace evenhand::cli
