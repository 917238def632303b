package web

import (
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
)

// cookieName is the session cookie.
const cookieName = "kickplate"

type personView struct {
	ID       string      `json:"id"`
	Name     string      `json:"name"`
	Role     claims.Role `json:"role"`
	Added    time.Time   `json:"added"`
	Password bool        `json:"password"`
}

func viewOf(p claims.Person) personView {
	return personView{p.ID, p.Name, p.Role, p.Added, p.Password || p.Hash != ""}
}

type sessionView struct {
	Actor  claims.Actor `json:"actor"`
	Shop   claims.Shop  `json:"shop"`
	Person personView   `json:"person"`
	Secure bool         `json:"secure"`
	Until  time.Time    `json:"until,omitzero"`
}

func (s *Server) sessionOf(c echo.Context, id claims.Identity) (sessionView, error) {
	shop, err := s.opt.Service.Shop(c.Request().Context(), id.Actor)
	return sessionView{id.Actor, shop, viewOf(id.Person), s.secureContext(c.Request()), id.Until}, err
}

func (s *Server) signIn(c echo.Context) error {
	if err := s.attempt(c); err != nil {
		return err
	}
	var in struct {
		Token    string `json:"token"`
		Person   string `json:"person"`
		Password string `json:"password"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	ctx := c.Request().Context()
	var got claims.SignedIn
	var err error
	switch {
	case in.Token != "" && in.Person == "" && in.Password == "":
		got, err = s.opt.Access.SignIn(ctx, in.Token)
	case in.Token == "" && in.Person != "" && in.Password != "":
		if err := s.attemptFor(c, in.Person); err != nil {
			return err
		}
		got, err = s.opt.Access.SignInByPassword(ctx, s.opt.Shop, in.Person, in.Password)
	default:
		err = claims.Errorf(claims.Invalid, "Send either a token, or a name and a password.")
	}
	if err != nil {
		return err
	}
	view, err := s.sessionOf(c, got.Identity)
	if err != nil {
		return err
	}
	s.setCookie(c, got.Token, int(claims.SessionFor.Seconds()))
	return answer(c, http.StatusOK, view)
}

// setCookie hands the session to the browser: no script can read it, no other site's page makes the browser send it.
func (s *Server) setCookie(c echo.Context, token string, maxAge int) {
	c.SetCookie(&http.Cookie{Name: cookieName, Value: token, Path: "/", MaxAge: maxAge, HttpOnly: true,
		Secure: s.overTLS(c.Request()), SameSite: http.SameSiteStrictMode})
}

func (s *Server) whoAmI(c echo.Context) error {
	view, err := s.sessionOf(c, who(c))
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, view)
}

func (s *Server) signOut(c echo.Context) error {
	token, _ := c.Get(keyToken).(string)
	if err := s.opt.Access.SignOut(c.Request().Context(), token); err != nil {
		return err
	}
	s.setCookie(c, "", -1)
	return c.NoContent(http.StatusNoContent)
}

func (s *Server) setPassword(c echo.Context) error {
	if err := s.attempt(c); err != nil {
		return err
	}
	var in struct {
		Password string `json:"password"`
		Present  string `json:"present"`
	}
	if err := readJSON(c, &in, false); err != nil {
		return err
	}
	if err := s.opt.Access.SetPassword(c.Request().Context(), who(c), in.Present, in.Password); err != nil {
		return err
	}
	return c.NoContent(http.StatusNoContent)
}
