package web

import (
	"github.com/labstack/echo/v4"

	"evenhand/giveaway"
)

func (d *desk) unread(c echo.Context, g giveaway.Giveaway) (int, error) { return 0, nil }

func (d *desk) getCautions(c echo.Context) error { return errNoSuchPage }

func (d *desk) postCautions(c echo.Context) error { return errNoSuchPage }
